#!/bin/bash
# Rules of the house that no compiler holds: the top level, and what must not stand in any file.
set -u
cd "$(dirname "$0")/../.." || exit 1
status=0
complain() {
  echo "$1" >&2
  status=1
}

# Files of the project: what git tracks and what it would take, or without git all but what is built.
if git rev-parse --is-inside-work-tree >/dev/null 2>&1; then
  files=$(git ls-files -co --exclude-standard)
else
  files=$(find . -type f -not -path './.git/*' -not -path './build*/*' -not -path './sheets/*' | sed 's|^\./||')
fi

top='CMakeLists.txt DEVELOPERS.md LICENSE README.md bindings core include recipes scripts tests'
got=$(echo "$files" | cut -d/ -f1 | grep -v '^\.' | sort -u | tr '\n' ' ')
[ "$got" = "$top " ] || complain "the top level holds '$got', not '$top'"
hidden=$(echo "$files" | cut -d/ -f1 | grep '^\.' | sort -u | tr '\n' ' ')
[ "$hidden" = ".ci .clang-format .clang-tidy .gitignore " ] || complain "dot files at the top: $hidden"
grep -q '^MIT License' LICENSE || complain "LICENSE is not the MIT licence"

# Each pattern is split by [], so that this file does not hold it.
forbid() { # forbid PATTERN WHY
  local found
  found=$(echo "$files" | tr '\n' '\0' | xargs -0 grep -nIE -- "$1" 2>/dev/null)
  [ -z "$found" ] || complain "$2:
$found"
}
forbid '\b(T[O]DO|FIX[M]E|X[X]X)\b' 'unfinished work'
forbid '(^|[^A-Za-z0-9_.<"])/(ho[m]e|ro[o]t|wo[r]k|Us[e]rs|mn[t])/' 'a path of one machine'
forbid 'deb\.deb[i]an\.org|regi[s]try\.[a-ce-z]|pyp[i]\.org|npm[j]s|artif[a]ctory|mirr[o]r\.' 'the address of a package registry'
forbid '[[:blank:]]$' 'blanks at the end of a line'
forbid '<{7} |>{7} ' 'a merge that was not finished'

for file in scripts/demo scripts/test scripts/prove scripts/bench scripts/install .ci/run; do
  [ -x "$file" ] || complain "$file cannot be run"
done
while read -r file; do
  case $file in
    *.c | *.h) head -n 1 "$file" | grep -qE '^(/\*|#)' || complain "$file does not start with a comment or directive" ;;
  esac
done <<<"$files"
exit $status
