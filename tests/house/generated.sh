#!/bin/bash
# Holds what the build generates to its purpose. usage: tests/house/generated.sh FOLDER
set -u
cd "$1" || exit 1
status=0
complain() {
  echo "$1" >&2
  status=1
}

mandoc -Tlint -W style fettle.1 || complain "fettle.1 is no clean man page"
mandoc -Tutf8 fettle.1 | grep -q 'milling.scallop_height' || complain "fettle.1 lacks a calculation"
for file in fettle.d.lua luacheckrc; do
  luac5.4 -p "$file" || complain "$file does not parse"
done
grep -q '^---@field cutter_diameter quantity' fettle.d.lua || complain "fettle.d.lua lacks a parameter"
bash -n fettle.bash || complain "fettle.bash does not parse"
for heading in '# Recipes' '# Shop data' '# Sheets' '# Units' '# Calculations' '## milling.scallop_height'; do
  grep -qFx -- "$heading" manual.md || complain "manual.md lacks the heading '$heading'"
done

# What completion offers for a command line that ends with the last word.
# shellcheck source=/dev/null
source ./fettle.bash
completed() {
  COMP_WORDS=("$@")
  COMP_CWORD=$(($# - 1))
  COMPREPLY=()
  _fettle
  echo "${COMPREPLY[*]}"
}
expect() { # expect WANTED WORD...
  local wanted=$1 got
  shift
  got=$(completed "$@")
  [ "$got" = "$wanted" ] || complain "completion of '$*' gives '$got', not '$wanted'"
}
expect 'run ask show verify' fettle ''
expect 'run' fettle r
expect '--set --sheet --strict' fettle run --s
expect 'text md html json' fettle run --sheet ''
expect 'json' fettle run --sheet j
expect 'milling.scallop_roughness' fettle show milling.scallop_r
expect 'cutter_diameter=' fettle ask milling.scallop_height cut
expect '--help --version --with' fettle --
exit $status
