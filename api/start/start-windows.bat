@echo off
rem Starts themekit: double-click it.
setlocal
cd /d "%~dp0"
set "FOUND="
rem The launcher py finds the newest Python; without it python may be an empty stand-in of the shop, so it is tried.
py -3 -c "import sys; sys.exit(sys.version_info < (3, 11))" >nul 2>nul && set "FOUND=py -3"
if defined FOUND goto start
python -c "import sys; sys.exit(sys.version_info < (3, 11))" >nul 2>nul && set "FOUND=python"
if defined FOUND goto start
echo themekit needs Python 3.11 or newer, and none was found on this computer.
echo Get it from python.org/downloads and tick "Add python.exe to PATH", then start this file again.
pause
exit /b 1
:start
%FOUND% "%~dp0start.py"
if errorlevel 1 pause
exit /b %errorlevel%
