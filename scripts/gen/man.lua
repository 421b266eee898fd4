-- The man page, from the option table and the catalogue.

local WIDTH = 78

local function escape(text)
  return (text:gsub("\\", "\\e"):gsub("-", "\\-"):gsub("\n([.'])", "\n\\&%1"):gsub("^([.'])", "\\&%1"))
end

local lines = {}
local function add(text)
  lines[#lines + 1] = text
end

-- A paragraph: short lines, and each sentence begins one.
local function prose(text)
  local line = ""
  for word in escape(text):gmatch("%S+") do
    if line ~= "" and (#line + 1 + #word > WIDTH or line:find("[.;:]$")) then
      add(line)
      line = ""
    end
    line = line == "" and word:gsub("^([.'])", "\\&%1") or line .. " " .. word
  end
  if line ~= "" then
    add(line)
  end
end

add(".Dd $Mdocdate$")
add(".Dt FETTLE 1")
add(".Os")
add(".Sh NAME")
add(".Nm fettle")
add(".Nd shop trade math for plugs, moulds and lay\\-ups, with units and working")
add(".Sh SYNOPSIS")
for _, command in ipairs(commands) do
  add(".Nm fettle")
  if command.name ~= "" then
    add(".Cm " .. escape(command.name))
  end
  add(".Op Ar options")
  if command.arguments ~= "" then
    add(".Ar " .. (escape(command.arguments):gsub("%.%.%.%]", "... ]")))
  end
end
add(".Sh DESCRIPTION")
prose("A recipe in Lua over shop data in YAML gives a job sheet on which every number has a unit, its "
  .. "working, its source and a warning where it leaves its valid range.")
add(".Bl -tag -width Ds")
for _, command in ipairs(commands) do
  add(command.name == "" and ".It Nm fettle" or ".It Nm fettle Cm " .. escape(command.name))
  prose(command.brief .. ".")
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
  prose(option.help .. " (" .. table.concat(users, ", ") .. ").")
end
add(".El")
add(".Sh CALCULATIONS")
add(".Bl -tag -width Ds")
for _, description in ipairs(host.descriptions()) do
  add(".It Sy " .. escape(description.name))
  prose(description.brief .. ".")
end
add(".El")
add(".Sh EXIT STATUS")
add(".Bl -tag -width Ds")
for _, row in ipairs {
  {0, "done"}, {1, "a check says stop, a record differs, or with --strict there is a warning"},
  {64, "the command line is wrong"}, {65, "bad data, a recipe's error, or a budget spent"},
  {66, "an input is not there"}, {70, "an internal error"}, {73, "the output cannot be created"},
  {74, "reading or writing failed"}, {77, "no permission"}, {78, "the shop data is wrong"},
} do
  add(".It " .. row[1])
  prose(row[2] .. ".")
end
add(".El")
add(".Sh EXAMPLES")
prose "The ridge that a ball cutter leaves:"
add(".Pp")
add(".Dl fettle ask milling.scallop_height cutter_diameter=1/2in stepover=30thou")
add(".Pp")
prose "The job sheet of a recipe, for a browser or a printer:"
add(".Pp")
add(".Dl fettle run part.lua \\-\\-set finish_stepover=14mm \\-o part.html")
add(".Sh SAFETY")
prose("fettle controls no machine. Its numbers defer to the safety data sheet, local codes and "
  .. "licensed practice.")
return table.concat(lines, "\n") .. "\n"
