-- Completion for bash, from the option table and the catalogue.

local names, first, options_of, parameters_of, choices_of = {}, {}, {}, {}, {}

for _, command in ipairs(commands) do
  local own = {}
  for _, option in ipairs(options) do
    if option.commands[command.name] then
      own[#own + 1] = "--" .. option.name
      if option.letter then
        own[#own + 1] = "-" .. option.letter
      end
    end
  end
  if command.name ~= "" then
    first[#first + 1] = command.name
  end
  options_of[#options_of + 1] =
    string.format("    %s) options='%s' ;;", command.name == "" and "''" or command.name, table.concat(own, " "))
end
for _, option in ipairs(options) do
  if option.argument and option.argument:find("|", 1, true) then
    choices_of[#choices_of + 1] =
      string.format("    --%s) choices='%s' ;;", option.name, (option.argument:gsub("|", " ")))
  end
end
for _, description in ipairs(host.descriptions()) do
  names[#names + 1] = description.name
  local parameters = {}
  for _, parameter in ipairs(description.inputs or {}) do
    parameters[#parameters + 1] = parameter.name .. "="
  end
  if #parameters > 0 then
    parameters_of[#parameters_of + 1] =
      string.format("    %s) parameters='%s' ;;", description.name, table.concat(parameters, " "))
  end
end

return string.format([=[
# bash completion for fettle
_fettle() {
  local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]} command=
  local options='' choices='' parameters=''
  case ${COMP_WORDS[1]} in
    %s) [[ $COMP_CWORD -gt 1 ]] && command=${COMP_WORDS[1]} ;;
  esac
  case $command in
%s
  esac
  case $before in
%s
  esac
  COMPREPLY=()
  if [[ -n $choices ]]; then
    mapfile -t COMPREPLY < <(compgen -W "$choices" -- "$word")
  elif [[ $word == -* ]]; then
    mapfile -t COMPREPLY < <(compgen -W "$options" -- "$word")
  elif [[ $COMP_CWORD -eq 1 ]]; then
    mapfile -t COMPREPLY < <(compgen -W '%s' -- "$word")
  elif [[ $command == ask && $COMP_CWORD -gt 2 ]]; then
    case ${COMP_WORDS[2]} in
%s
    esac
    mapfile -t COMPREPLY < <(compgen -W "$parameters" -- "$word")
    compopt -o nospace 2>/dev/null
  elif [[ $before != -* && ($command == ask || $command == show) ]]; then
    mapfile -t COMPREPLY < <(compgen -W '%s' -- "$word")
  else
    mapfile -t COMPREPLY < <(compgen -f -- "$word")
  fi
}
complete -o filenames -F _fettle fettle
]=], table.concat(first, " | "), table.concat(options_of, "\n"), table.concat(choices_of, "\n"),
  table.concat(first, " "), table.concat(parameters_of, "\n"),
  table.concat(names, " "))
