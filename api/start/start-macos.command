#!/bin/sh
# Starts themekit: double-click it in the Finder. If macOS refuses the first time: Control-click it, then Open.
here=$(CDPATH='' cd -- "$(dirname -- "$0")" && pwd) || exit 1
new_enough='import sys; sys.exit(sys.version_info < (3, 11))'
python=''
for one in python3 /opt/homebrew/bin/python3 /usr/local/bin/python3 \
  /Library/Frameworks/Python.framework/Versions/Current/bin/python3; do
  # The python3 of macOS itself only offers to install developer tools; where they are missing it is passed over.
  if [ "$(command -v "$one")" = /usr/bin/python3 ] && ! xcode-select -p >/dev/null 2>&1; then
    continue
  fi
  if command -v "$one" >/dev/null 2>&1 && "$one" -c "$new_enough" 2>/dev/null; then
    python=$one
    break
  fi
done
if [ -n "$python" ]; then
  "$python" "$here/start.py"
  code=$?
else
  echo 'themekit needs Python 3.11 or newer, and none was found on this Mac.'
  echo 'Get it from python.org/downloads (the macOS installer), then start this file again.'
  code=1
fi
if [ "$code" -ne 0 ] && [ -t 0 ]; then
  printf 'Press Return to close. '
  read -r _
fi
exit "$code"
