#!/bin/sh
# Starts themekit: double-click it and choose to run it in a terminal, or type  sh start-linux.sh
here=$(CDPATH='' cd -- "$(dirname -- "$0")" && pwd) || exit 1
new_enough='import sys; sys.exit(sys.version_info < (3, 11))'
python=''
for one in python3 python3.14 python3.13 python3.12 python3.11 python; do
  if command -v "$one" >/dev/null 2>&1 && "$one" -c "$new_enough" 2>/dev/null; then
    python=$one
    break
  fi
done
if [ -n "$python" ]; then
  "$python" "$here/start.py"
  code=$?
else
  echo 'themekit needs Python 3.11 or newer, and none was found here.'
  echo 'On Debian and Ubuntu:  sudo apt install python3 python3-venv'
  echo 'Elsewhere: get it from python.org/downloads. Then start this file again.'
  code=1
fi
# A window that was opened for this alone would take the words away with it.
if [ "$code" -ne 0 ] && [ -t 0 ]; then
  printf 'Press Enter to close. '
  read -r _
fi
exit "$code"
