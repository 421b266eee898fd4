-- Completion for bash, from the option table and the catalogue.

local function option_words(command)
  local words = {}
  for _, option in ipairs(options) do
    if option.commands[command.name] then
      words[#words + 1] = "--" .. option.name
    end
  end
  return table.concat(words, " ")
end

local names, first, cases = {}, {}, {}
for _, description in ipairs(host.descriptions()) do
  names[#names + 1] = description.name
end
for _, command in ipairs(commands) do
  if command.name ~= "" then
    first[#first + 1] = command.name
  end
  cases[#cases + 1] = string.format('    "%s") options="%s" ;;', command.name, option_words(command))
end

return string.format([[
# bash completion for fettle
_fettle() {
  local word=${COMP_WORDS[COMP_CWORD]} command=${COMP_WORDS[1]} options=
  case $command in
    run | ask | show | verify) ;;
    *) command= ;;
  esac
  case $command in
%s
  esac
  if [[ $word == -* ]]; then
    mapfile -t COMPREPLY < <(compgen -W "$options" -- "$word")
  elif [[ $COMP_CWORD -eq 1 ]]; then
    mapfile -t COMPREPLY < <(compgen -W "%s" -- "$word")
  elif [[ $command == ask || $command == show ]]; then
    mapfile -t COMPREPLY < <(compgen -W "%s" -- "$word")
  else
    mapfile -t COMPREPLY < <(compgen -f -- "$word")
  fi
}
complete -F _fettle fettle
]], table.concat(cases, "\n"), table.concat(first, " "), table.concat(names, " "))
