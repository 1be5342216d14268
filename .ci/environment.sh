# Sourced by demo/run and tests/run from the root of the checkout: finds a Python, makes
# .venv and installs the package with its extras, unless that is done already.
#
#   make_environment dashboard,test     afterwards "$PYTHON" is the environment's Python
#
# Needs bash, coreutils and a Python of 3.11 or later; pip fetches the rest.

PYTHON=.venv/bin/python

new_enough() {
  # A name on the path may be a launcher that fails: only running it tells.
  "$1" -c 'import sys; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1
}

find_python() {
  local name
  for name in python3.13 python3.12 python3.11 python3; do
    if new_enough "$name"; then
      printf '%s\n' "$name"
      return
    fi
  done
  name=$(python3 --version 2>/dev/null || printf 'no Python at all')
  printf 'trendwear needs Python 3.11 or later; this machine has %s.\n' "$name" >&2
  printf 'Install one (Debian: apt-get install python3 python3-venv) and run this again.\n' >&2
  return 1
}

make_environment() {
  local extras=$1 python wanted extra missing=
  if ! new_enough "$PYTHON"; then
    python=$(find_python) || return 1
    printf 'Making the Python environment in .venv …\n' >&2
    if ! "$python" -m venv --clear .venv; then
      printf 'The environment could not be made. Debian keeps that part apart: ' >&2
      printf 'apt-get install python3-venv, then run this again.\n' >&2
      return 1
    fi
  fi
  # What was installed is good while the package's settings, the pins and the place are the same.
  wanted=$(cat pyproject.toml .ci/constraints.txt | sha256sum)
  wanted="${wanted%% *} $PWD"
  for extra in ${extras//,/ }; do
    [ "$(cat ".venv/installed-$extra" 2>/dev/null)" = "$wanted" ] || missing=yes
  done
  [ -n "$missing" ] || return 0
  printf 'Installing trendwear and what it needs (some minutes on a first run) …\n' >&2
  if ! "$PYTHON" -m pip install --quiet --disable-pip-version-check \
    --constraint .ci/constraints.txt --editable ".[$extras]"; then
    printf 'pip could not install it; its own words stand above. A first run needs the network.\n' >&2
    return 1
  fi
  for extra in ${extras//,/ }; do
    printf '%s\n' "$wanted" >".venv/installed-$extra"
  done
}
