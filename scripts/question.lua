-- What the words after `fettle ask` mean: an expression, or a calculation with NAME=VALUE words.

local question = {}

local function names(description)
  local list = {}
  for _, parameter in ipairs(description.inputs) do
    list[#list + 1] = parameter.name
  end
  return table.concat(list, ", ")
end

local function find(descriptions, name)
  for _, description in ipairs(descriptions) do
    if description.name == name then
      return description
    end
  end
end

local function parameter_of(description, name)
  for _, parameter in ipairs(description.inputs) do
    if parameter.name == name then
      return parameter
    end
  end
end

-- Up to four units that fit the parameter, its own two first.
local function fitting_units(parameter)
  local list, seen = {}, {}
  local function add(name)
    if name and name ~= "1" and not seen[name] and #list < 4 then
      seen[name] = true
      list[#list + 1] = name
    end
  end
  add(parameter.inch_unit)
  add(parameter.unit)
  for _, unit in ipairs(host.units()) do
    local fits = pcall(function()
      return q("1 " .. unit.name):number(parameter.unit)
    end)
    if fits then
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
    return tostring(value)
  end
  if parameter.unit == "1" then
    if type(value) ~= "number" then
      return text .. ": must be a plain number"
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
  if text:find("^[%w_./=%%^*+-]+$") then
    return text
  end
  return "'" .. text:gsub("'", "'\\''") .. "'"
end

local function hint(parameter)
  local unit = parameter.inch_unit or parameter.unit
  local parts = { parameter.meaning }
  if unit ~= "1" then
    parts[#parts + 1] = unit
  end
  if parameter.usual_low then
    parts[#parts + 1] = string.format("usually %g to %g %s", parameter.usual_low,
      parameter.usual_high, parameter.unit == "1" and "" or parameter.unit):gsub(" $", "")
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
    local name, text = words[index]:match("^([%a_][%w_]*)=(.*)$")
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

local function plain(description, words, read_line)
  local given, wrong = collect(description, words)
  if not given then
    return nil, nil, wrong
  end
  local arguments, line = {}, { "fettle ask " .. description.name }
  for _, parameter in ipairs(description.inputs) do
    local text = given[parameter.name]
    if not text and parameter.preset == nil then
      if not read_line then
        return nil, nil, string.format("%s: missing %s", description.name, hint(parameter))
      end
      text = ask_for(parameter, read_line)
      if not text then
        return nil, nil, string.format("%s: missing %s", description.name, hint(parameter))
      end
    end
    if text then
      arguments[#arguments + 1] = string.format("%s = q%s", parameter.name, quoted(text))
      line[#line + 1] = shell_word(parameter.name .. "=" .. text)
    end
  end
  return string.format("%s{%s}", description.name, table.concat(arguments, ", ")),
    table.concat(line, " ")
end

-- words: the arguments; descriptions: of all calculations; read_line(prompt): asks a person, or nil
-- in a pipe. Returns expression, the line that repeats it, or nil, nil, complaint.
function question.build(words, descriptions, read_line)
  local description = find(descriptions, words[1])
  if description and description.kind == "lists" then
    if #words > 1 or read_line then
      return nil, nil, string.format("%s takes lists: give it as one quoted expression; "
        .. "'fettle show %s' has an example", description.name, description.name)
    end
  elseif description then
    return plain(description, words, read_line)
  end
  if #words > 1 and words[1]:find("^[%a_][%w_.]*$") and words[2]:find("^[%a_][%w_]*=[^=]") then
    return nil, nil, string.format(
      "no calculation is named '%s'; 'fettle show WORD' searches by trade words", words[1])
  end
  local expression = table.concat(words, " ")
  return expression, "fettle ask " .. shell_word(expression)
end

return question
