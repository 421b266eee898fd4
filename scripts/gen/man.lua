-- The man page, from the option table and the catalogue.

local function escape(text)
  return (text:gsub("\\", "\\e"):gsub("-", "\\-"):gsub("\n([.'])", "\n\\&%1"):gsub("^([.'])", "\\&%1"))
end

local lines = {}
local function add(text, ...)
  lines[#lines + 1] = select("#", ...) > 0 and string.format(text, ...) or text
end

add('.Dd $Mdocdate$')
add(".Dt FETTLE 1")
add(".Os")
add(".Sh NAME")
add(".Nm fettle")
add(".Nd shop trade math for plugs, moulds and lay\\-ups, with units and working")
add(".Sh SYNOPSIS")
for _, command in ipairs(commands) do
  add(".Nm fettle")
  local words = command.name
  if command.arguments ~= "" then
    words = words .. " " .. command.arguments
  end
  if words ~= "" then
    add(escape(words))
  end
end
add(".Sh DESCRIPTION")
add("A recipe in Lua over shop data in YAML gives a job sheet on which every number has a unit,")
add("its working, its source and a warning where it leaves its valid range.")
add(".Bl -tag -width Ds")
for _, command in ipairs(commands) do
  add(".It Nm fettle " .. escape(command.name))
  add(escape(command.brief) .. ".")
end
add(".El")
add(".Sh OPTIONS")
add(".Bl -tag -width Ds")
for _, option in ipairs(options) do
  local head = ".It "
  if option.letter then
    head = head .. "Fl " .. option.letter .. " , "
  end
  head = head .. "Fl \\-" .. escape(option.name)
  if option.argument then
    head = head .. " Ar " .. escape(option.argument)
  end
  add(head)
  local users = {}
  for _, command in ipairs(commands) do
    if option.commands[command.name] then
      users[#users + 1] = command.name == "" and "the prompt" or command.name
    end
  end
  add(escape(option.help) .. " (" .. table.concat(users, ", ") .. ").")
end
add(".El")
add(".Sh CALCULATIONS")
add(".Bl -tag -width Ds")
for _, description in ipairs(host.descriptions()) do
  add(".It Sy " .. escape(description.name))
  add(escape(description.brief))
end
add(".El")
add(".Sh EXIT STATUS")
add("0 done; 1 a check says stop, or a record differs; 64 usage; 65 bad data or recipe;")
add("66 no such input; 70 internal; 73 cannot create; 74 input or output; 78 shop data.")
add(".Sh SAFETY")
add("fettle controls no machine. Its numbers defer to the safety data sheet, local codes and")
add("licensed practice.")
return table.concat(lines, "\n") .. "\n"
