-- What the words after `fettle ask` mean: an expression, or a calculation with NAME=VALUE words.

local question = {}

local function names(description)
  local list = {}
  for _, parameter in ipairs(description.inputs) do
    list[#list + 1] = parameter.name
  end
  return table.concat(list, ", ")
end

-- The description of a calculation: the shop's own among `descriptions`, or else the catalogue's.
local function find(descriptions, name)
  for _, description in ipairs(descriptions or {}) do
    if description.name == name then
      return description
    end
  end
  return host.description(name)
end

local function parameter_of(description, name)
  for _, parameter in ipairs(description.inputs) do
    if parameter.name == name then
      return parameter
    end
  end
end

-- Three units or so that fit the parameter, as a shop writes it: its own first.
local function fitting_units(parameter)
  local list, seen = {}, {}
  local function add(name)
    if name and not seen[name] then
      seen[name] = true
      list[#list + 1] = name
    end
  end
  add(parameter.inch_unit)
  if parameter.unit == "mm" then
    add("thou")
    add("in")
  end
  add(parameter.unit)
  for _, unit in ipairs(#list < 3 and host.units() or {}) do
    local difference = parameter.role == "point" and not unit.point
    if #list < 3 and not difference and pcall(function()
      return q("1 " .. unit.name):number(parameter.unit)
    end) then
      add(unit.name)
    end
  end
  return table.concat(list, ", ")
end

-- nil when `text` is a value that the parameter can take, else what to ask back. Limits are left
-- to the calculation, which knows them.
local function complaint(parameter, text)
  local read, value = pcall(q, text)
  if not read then
    return (tostring(value):gsub("^q: ", ""))
  end
  if parameter.unit == "1" then
    if type(value) ~= "number" then
      return text .. ": must be a plain number"
    end
  elseif parameter.unit == "%" then
    if type(value) ~= "number" then
      return text .. ": must be a share in %"
    elseif not text:find("%", 1, true) then
      local shown = host.number(value)
      return string.format("%s what? write %s %%%s", text, shown, math.abs(value) > 1 and ""
        or string.format(", or if it is a share of one %s %%", host.number(value * 100)))
    end
  elseif type(value) == "number" then
    return string.format("%s what? %s", text, fitting_units(parameter))
  elseif not pcall(value.number, value, parameter.unit) then
    return string.format("%s: does not fit; give it in %s", text, fitting_units(parameter))
  end
end

local function quoted(text)
  return '"' .. text:gsub('[%c"\\]', function(character)
    return string.format("\\%03d", character:byte())
  end) .. '"'
end

-- A word as a shell wants it typed again.
local function shell_word(text)
  if text:find("^[%w_./=%%^+-]+$") then
    return text
  end
  return "'" .. text:gsub("'", "'\\''") .. "'"
end

local function hint(parameter)
  local unit = parameter.unit
  local parts = { parameter.meaning }
  if unit == "1" then
    parts[#parts + 1] = parameter.whole and "a whole number" or "a plain number"
  elseif parameter.inch_unit and parameter.inch_unit ~= unit then
    parts[#parts + 1] = parameter.inch_unit .. " or " .. unit
  else
    parts[#parts + 1] = unit
  end
  if parameter.usual_low and parameter.usual_high then
    parts[#parts + 1] = "usually " .. host.number(parameter.usual_low) .. " to "
      .. host.number(parameter.usual_high) .. (unit == "1" and "" or " " .. unit)
  end
  return string.format("%s (%s)", parameter.name, table.concat(parts, "; "))
end

local function ask_for(parameter, read_line)
  local prompt = hint(parameter) .. ": "
  while true do
    local text = read_line(prompt)
    if not text then
      return nil
    end
    text = text:match("^%s*(.-)%s*$")
    local wrong = text == "" and "a value is needed" or complaint(parameter, text)
    if not wrong then
      return text
    end
    prompt = wrong .. "\n" .. hint(parameter) .. ": "
  end
end

local function collect(description, words)
  local given = {}
  for index = 2, #words do
    local name, text = words[index]:match("^([%a_][%w_]*)=%s*(.-)%s*$")
    if not name then
      return nil, string.format("%s: '%s' is not NAME=VALUE; the names are %s", description.name,
        words[index], names(description))
    end
    local parameter = parameter_of(description, name)
    if not parameter then
      return nil, string.format("%s has no '%s'; the names are %s", description.name, name,
        names(description))
    end
    if given[name] then
      return nil, string.format("%s: %s is given twice", description.name, name)
    end
    local wrong = complaint(parameter, text)
    if wrong then
      return nil, string.format("%s: %s = %s", description.name, name, wrong)
    end
    given[name] = text
  end
  return given
end

-- The words before the question itself, when the line is to be typed again.
local function command(files)
  local list = { "fettle ask" }
  for _, file in ipairs(files or {}) do
    list[#list + 1] = "--with " .. shell_word(file)
  end
  return table.concat(list, " ")
end

local function plain(description, words, read_line, files)
  local given, wrong = collect(description, words)
  if not given then
    return nil, nil, wrong
  end
  local missing = {}
  local arguments, line = {}, { command(files) .. " " .. description.name }
  for _, parameter in ipairs(description.inputs) do
    local text = given[parameter.name]
    if not text and parameter.preset == nil then
      text = read_line and #missing == 0 and ask_for(parameter, read_line)
      if not text then
        missing[#missing + 1] = parameter
      end
    end
    if text then
      arguments[#arguments + 1] = string.format("%s = q%s", parameter.name, quoted(text))
      line[#line + 1] = shell_word(parameter.name .. "=" .. text)
    end
  end
  if #missing > 0 then
    local others = {}
    for index = 2, #missing do
      others[index - 1] = missing[index].name
    end
    return nil, nil, string.format("%s: missing %s%s", description.name, hint(missing[1]),
      #others > 0 and ", and " .. table.concat(others, ", ") or "")
  end
  return string.format("%s{%s}", description.name, table.concat(arguments, ", ")),
    table.concat(line, " ")
end

-- "stepover=2 1/2 in" comes as three words: what has no "=" belongs to the value before it.
local function joined(words)
  local list = { words[1] }
  for index = 2, #words do
    if #list > 1 and not words[index]:find("=", 1, true) then
      list[#list] = list[#list] .. " " .. words[index]
    else
      list[#list + 1] = words[index]
    end
  end
  return list
end

-- "62 degF", "2 1/2 in", "10 %": what is no Lua but reads as a quantity is one.
local function as_expression(text)
  if not load("return " .. text, "=line", "t") and not load(text, "=line", "t")
    and pcall(q, text) then
    return "q" .. quoted(text)
  end
  return text
end

-- words: the arguments; descriptions: of a shop's own calculations, or nil; read_line(prompt): asks
-- a person, or nil in a pipe; files: of the shop's own calculations, or nil.
-- Returns expression, the line that repeats it, or nil, nil, complaint.
function question.build(words, descriptions, read_line, files)
  local description = find(descriptions, words[1])
  if description and description.kind == "lists" then
    return nil, nil, string.format("%s takes lists: give it as one quoted expression; "
      .. "'fettle show %s' has an example", description.name, description.name)
  elseif description then
    return plain(description, joined(words), read_line, files)
  end
  if #words > 1 and words[1]:find("^[%a_][%w_.]*$") and words[2]:find("^[%a_][%w_]*=[^=]") then
    local nearest = host.nearest(words[1])
    return nil, nil, string.format("no calculation is named '%s'; %s", words[1],
      nearest and "the nearest name is " .. nearest
        or "'fettle show WORD' searches by trade words")
  end
  local text = table.concat(words, " ")
  return as_expression(text), command(files) .. " " .. shell_word(text)
end

-- The same for one line of the prompt, where a calculation's name alone may begin an expression.
function question.line(text, descriptions)
  text = text:match("^%s*(.-)%s*$")
  local name, rest = text:match("^%s*([%a_][%w_.]*)%s+(.*)$")
  if name and rest:find("^[%a_][%w_]*=[^=]") and find(descriptions, name) then
    local words = { name }
    for word in rest:gmatch("%S+") do
      words[#words + 1] = word
    end
    local expression, _, wrong = question.build(words, descriptions)
    return expression, wrong
  end
  return as_expression(text)
end

local others -- names that are no calculations

local function other_names()
  if not others then
    others = {}
    for _, unit in ipairs(host.units()) do
      others[#others + 1] = unit.lua_name
    end
    for name in pairs(math) do
      others[#others + 1] = "math." .. name
    end
    table.sort(others)
  end
  return others
end

-- What `word` at the prompt may become, after `before` on the same line: the arguments of a call
-- that is open, else calculations, units and functions. Sorted.
function question.complete(descriptions, before, word)
  local list = {}
  local function offer(name, ending)
    if name:sub(1, #word) == word then
      list[#list + 1] = name .. ending
    end
  end
  local call, given = before:match("([%a_][%w_.]*)%s*{([^{}]*)$")
  if not call then
    call, given = before:match("^%s*([%a_][%w_.]*)%s+(.*)$")
  end
  local description = call and find(descriptions, call)
  local place = before:match("[{,]%s*$") or before:match("^%s*[%a_][%w_.]*%s+$")
    or not before:find("{", 1, true) and before:match("%S%s+$")
  if description and place then
    for _, parameter in ipairs(description.inputs) do
      if not (" " .. given):find("[^%w_]" .. parameter.name .. "%s*=") then
        offer(parameter.name, before:find("{", 1, true) and " = " or "=")
      end
    end
    return list
  end
  for _, entry in ipairs(descriptions) do
    offer(entry.name, "")
  end
  for _, name in ipairs(other_names()) do
    offer(name, "")
  end
  return list
end

return question
