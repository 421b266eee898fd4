#!/bin/bash
# The program gives the same bytes in a locale with a decimal comma.
# usage: LOCPATH=FOLDER tests/house/locale.sh PROGRAM RECIPE
set -u
program=$1
recipe=$2
[ "$(LC_ALL=de_DE.UTF-8 locale decimal_point)" = , ] || { echo "no comma locale in $LOCPATH" >&2; exit 1; }
status=0
same() { # same ARGUMENT...
  if ! cmp -s <(LC_ALL=C.UTF-8 "$program" "$@" 2>&1) <(LC_ALL=de_DE.UTF-8 "$program" "$@" 2>&1); then
    echo "fettle $* differs in a locale with a decimal comma" >&2
    status=1
  fi
}
same ask '2.5*inch + 1.25*mm'
same ask milling.scallop_height cutter_diameter=1/2in stepover=0.03in
same ask --json '1/3*inch'
same show milling.scallop_height
for form in text md html json; do
  same run "$recipe" --sheet "$form"
done
exit $status
