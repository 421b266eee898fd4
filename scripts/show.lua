-- What `fettle show` says: the catalogue as a list, a search or one entry. The descriptions are
-- passed in (plain tables, see bindings/lua/catalogue.h), a shop's own calculations among them.
local show = {}

local WIDTH, LIST_WIDTH = 80, 100

local function wrapped(text, first, rest, width)
  local lines, line = {}, first
  local empty = true
  for word in text:gmatch("%S+") do
    if not empty and #line + 1 + #word > (width or WIDTH) then
      lines[#lines + 1] = line
      line, empty = rest, true
    end
    line = empty and line .. word or line .. " " .. word
    empty = false
  end
  lines[#lines + 1] = line
  return table.concat(lines, "\n")
end

local function sorted(descriptions)
  local copy = table.move(descriptions, 1, #descriptions, 1, {})
  table.sort(copy, function(a, b) return a.name < b.name end)
  return copy
end

-- All that a search looks through, with "_" and "." as blanks too.
local function haystack(entry)
  local parts = {entry.name, entry.name:gsub("[_.]", " "), entry.brief, entry.words or "", entry.notes or ""}
  for _, list in ipairs {entry.inputs or {}, entry.outputs or {}} do
    for _, parameter in ipairs(list) do
      parts[#parts + 1] = parameter.name
      parts[#parts + 1] = parameter.name:gsub("_", " ")
      parts[#parts + 1] = parameter.meaning
    end
  end
  return table.concat(parts, "\n"):lower()
end

local function matches(text, word)
  word = word:lower()
  if text:find(word, 1, true) then
    return true
  end
  return #word > 3 and word:sub(-1) == "s" and text:find(word:sub(1, -2), 1, true) ~= nil
end

-- The entries in which every word is found, sorted by name; those with all words in the name first.
function show.search(descriptions, words)
  local by_name, others = {}, {}
  for _, entry in ipairs(sorted(descriptions)) do
    local text = haystack(entry)
    local name = (entry.name .. " " .. entry.name:gsub("[_.]", " ")):lower()
    local all, in_name = true, true
    for _, word in ipairs(words) do
      all = all and matches(text, word)
      in_name = in_name and matches(name, word)
    end
    if all then
      local list = in_name and by_name or others
      list[#list + 1] = entry
    end
  end
  return table.move(others, 1, #others, #by_name + 1, by_name)
end

-- One line a calculation: its name and what it is for.
function show.list(descriptions)
  local width = 0
  for _, entry in ipairs(descriptions) do
    width = math.max(width, #entry.name)
  end
  local lines = {}
  for _, entry in ipairs(descriptions) do
    local gap = (" "):rep(width + 2 - #entry.name)
    lines[#lines + 1] = wrapped(entry.brief, entry.name .. gap, (" "):rep(width + 2), LIST_WIDTH)
  end
  return table.concat(lines, "\n") .. "\n"
end

local function plain(value)
  return host.number(value, 6)
end

local function with_unit(value, unit)
  return unit == "1" and plain(value) or plain(value) .. " " .. unit
end

local function range(low, high, unit)
  if low and high then
    return with_unit(low, unit) .. " to " .. with_unit(high, unit)
  elseif low then
    return with_unit(low, unit) .. " or more"
  elseif high then
    return with_unit(high, unit) .. " or less"
  end
end

-- A value as a shop would type it: at `share` of the way through the usual range, with few digits.
local function sample(parameter, share)
  local low = parameter.usual_low or parameter.low
  local high = parameter.usual_high or parameter.high
  local value
  if low and high and low > 0 then
    value = low * (high / low) ^ share
  elseif low and high then
    value = low + (high - low) * share
  else
    value = low and low + 1 or high and high - 1 or 1
  end
  if parameter.whole then
    value = math.floor(value)
  elseif value ~= 0 then
    local step = 10.0 ^ math.floor(math.log(math.abs(value), 10))
    value = math.floor(value / step + 0.5) * step
  end
  value = math.min(math.max(value, low or value), high or value)
  local unit = parameter.unit
  return unit == "1" and plain(value) or ("q\"%s %s\""):format(plain(value), unit)
end

local function runs(call)
  local chunk = load("return " .. call, "=example", "t")
  return chunk ~= nil and pcall(chunk)
end

-- A call that can be typed: what must be given, each with a usual value. Values that do not go
-- together (a corner larger than its cutter) are tried again elsewhere in their ranges.
function show.example(entry)
  local domain, short = entry.name:match("^(.-)%.(.+)$")
  local known = domain and rawget(_G, domain) and rawget(_G[domain], short)
  local first
  local seed = 1
  for attempt = 1, known and 400 or 1 do
    local arguments = {}
    for _, parameter in ipairs(entry.inputs or {}) do
      if parameter.preset == nil then
        -- the first attempt takes the middle; the rest a fixed sequence that looks like chance
        seed = seed * 16807 % 2147483647
        local share = attempt == 1 and 0.5 or seed % 19 / 20 + 0.05
        arguments[#arguments + 1] = parameter.name .. " = " .. sample(parameter, share)
      end
    end
    local call = entry.name .. "{" .. table.concat(arguments, ", ") .. "}"
    if known and runs(call) then
      return call
    end
    first = first or call
  end
  return first
end

local function parameter_lines(lines, parameter)
  local unit = parameter.unit == "1" and "a plain number" or parameter.unit
  if parameter.inch_unit and parameter.inch_unit ~= parameter.unit then
    unit = parameter.inch_unit .. " or " .. unit
  end
  local symbol = parameter.symbol and parameter.symbol ~= parameter.name
      and " (" .. parameter.symbol .. ")" or ""
  lines[#lines + 1] = "  " .. parameter.name .. symbol .. ", " .. unit
  lines[#lines + 1] = wrapped(parameter.meaning or "", "      ", "      ")
  local facts = {}
  local limits = range(parameter.low, parameter.high, parameter.unit)
  if limits then
    facts[#facts + 1] = "limits " .. limits
  end
  if parameter.usual_low or parameter.usual_high then
    facts[#facts + 1] = "usual " .. range(parameter.usual_low, parameter.usual_high, parameter.unit)
  end
  if parameter.whole then
    facts[#facts + 1] = "a whole number"
  end
  if parameter.preset then
    facts[#facts + 1] = "when not given " .. with_unit(parameter.preset, parameter.unit)
  end
  if #facts > 0 then
    lines[#lines + 1] = wrapped(table.concat(facts, "; "), "      ", "      ")
  end
end

-- Everything about one calculation.
function show.entry(entry)
  local lines = {entry.name, wrapped(entry.brief, "  ", "  "), ""}
  local function titled(title, text)
    if text and text ~= "" then
      lines[#lines + 1] = title
      lines[#lines + 1] = wrapped(text, "  ", "  ")
      lines[#lines + 1] = ""
    end
  end
  if entry.kind == "closed" then
    lines[#lines + 1] = "Formula"
    for statement in (entry.formula .. ";"):gmatch("%s*(.-)%s*;") do
      lines[#lines + 1] = wrapped(statement, "  ", "      ")
    end
    lines[#lines + 1] = ""
  else
    titled("Formula", entry.formula)
  end
  for _, group in ipairs {{"Give", entry.inputs or {}}, {"Get", entry.outputs or {}}} do
    if #group[2] > 0 then
      lines[#lines + 1] = group[1]
      for _, parameter in ipairs(group[2]) do
        parameter_lines(lines, parameter)
      end
      lines[#lines + 1] = ""
    end
  end
  if entry.constants and #entry.constants > 0 then
    lines[#lines + 1] = "Constants"
    for _, constant in ipairs(entry.constants) do
      local text = constant.symbol .. " = " .. with_unit(constant.value, constant.unit)
      lines[#lines + 1] = wrapped(text .. ": " .. (constant.meaning or "") ..
        (constant.source and "; " .. constant.source or ""), "  ", "      ")
    end
    lines[#lines + 1] = ""
  end
  titled("Notes", entry.notes)
  titled("Source", entry.source)
  if entry.hazards and #entry.hazards > 0 then
    titled("Cautions", (table.concat(entry.hazards, ", "):gsub("_", " ")))
  end
  titled("The other way round", entry.inverse)
  if entry.kind ~= "lists" then
    titled("Example", show.example(entry))
  end
  lines[#lines] = nil
  return table.concat(lines, "\n") .. "\n"
end

-- The names alone, sorted: for completion.
function show.names(descriptions)
  local names = {}
  for i, entry in ipairs(sorted(descriptions)) do
    names[i] = entry.name
  end
  return names
end

-- The answer to `fettle show WORD...` and whether anything was found: without words the whole list,
-- for one exact name its entry, else all entries in which every word is found.
function show.answer(descriptions, words, json)
  if #words == 1 then
    for _, entry in ipairs(descriptions) do
      if entry.name == words[1] then
        return json and host.json_encode(entry) .. "\n" or show.entry(entry), true
      end
    end
  end
  local found = show.search(descriptions, words)
  if #found == 0 then
    local asked = table.concat(words, " ")
    local nearest = #words == 1 and host.nearest(words[1])
    return ("no calculation has '%s' in its name, meaning or notes; %s"):format(asked,
      nearest and "the nearest name is " .. nearest or "fettle show lists all"), false
  end
  return json and host.json_encode(found) .. "\n" or show.list(found), true
end

return show
