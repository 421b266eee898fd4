-- How a value is written on a sheet: in the shop's unit, and in the other system beside it.

local values = {}

-- Filled when first asked: the vocabulary is long, and a plain number needs none of it.
local habits
local function habit_of(name)
  if not habits then
    habits = {}
    for _, unit in ipairs(host.units()) do
      habits[unit.name] = unit.habit
    end
  end
  return habits[name]
end

values.is_quantity = host.is_quantity

-- A text as it may stand on a sheet: valid UTF-8 and no marks that turn the order of what follows.
function values.clean(value)
  local text = host.valid_text(tostring(value))
  return (text:gsub("\xE2\x80[\xAA-\xAE]", ""):gsub("\xE2\x81[\xA6-\xA9]", ""))
end

function values.is_number(value)
  return type(value) == "number" or host.is_quantity(value)
end

-- Money to its hundredth part, as prices are written; nil for anything else.
local function money(value, unit)
  local number, shown, si, si_unit = host.shown(value, nil, unit)
  if si_unit ~= "USD" or math.abs(si) >= 1e15 then
    return nil
  end
  return string.format("%.2f %s", number, shown)
end

-- The text of a value of any kind. Numbers that a recipe typed as whole stay whole.
function values.text(value, unit, digits)
  if value == nil then
    return ""
  elseif host.is_quantity(value) then
    local price = not digits and money(value, unit)
    if price then
      return price
    end
    return host.text(value, digits or 4, nil, unit)
  elseif type(value) == "number" then
    if unit and unit ~= "1" then
      return host.text(value, digits or 4, nil, unit)
    end
    return host.number(value, digits or 6)
  elseif type(value) == "boolean" then
    return value and "yes" or "no"
  elseif type(value) == "table" then
    local texts = {}
    for i, item in ipairs(value) do
      texts[i] = values.text(item, unit, digits)
    end
    return table.concat(texts, ", ")
  end
  return tostring(value)
end

-- Units that get long numbers, and the unit that a shop takes from which number on.
local larger = {
  ["mm^2"] = {"m^2", 1e4}, ["in^2"] = {"ft^2", 1e4}, um = {"mm", 1e3}, mm = {"m", 1e4},
  g = {"kg", 1e4}, mL = {"L", 1e4},
}

-- "7 h 34 min" for a time of an hour and more, nil for anything else.
local HOUR, MINUTE, DAYS_MOST = 3600, 60, 1000 -- s, s, d
local function clock(value)
  local _, shown, seconds, si_unit = host.shown(value)
  if si_unit ~= "s" or shown == "d" or seconds < HOUR or seconds > DAYS_MOST * 24 * HOUR then
    return nil
  end
  local minutes = math.floor(seconds / MINUTE + 0.5)
  if shown == "h" and minutes % 60 == 0 then
    return nil
  end
  return string.format("%d h %d min", minutes // 60, minutes % 60)
end

-- The unit of the other system in which a value is read there, and that system; nil when it has
-- none of its own.
local function other_unit(value, unit)
  if not host.is_quantity(value) then
    return nil
  end
  local _, shown = host.shown(value, nil, unit)
  local habit = habit_of(shown)
  if habit == "none" or habit == nil then
    return nil
  end
  local wanted = habit == "inch" and "metric" or "inch"
  local name = host.unit_for(value, wanted)
  if not name or name == shown or habit_of(name) == habit then
    return nil
  end
  local step = larger[name]
  if step and math.abs((host.shown(value, wanted, name))) >= step[2] then
    name = step[1]
  end
  return name, wanted
end

-- The same value in the other system, or a time in hours and minutes; nil when it has neither.
function values.other(value, unit, digits)
  local name, wanted = other_unit(value, unit)
  if name then
    return host.text(value, digits or 4, wanted, name)
  end
  return host.is_quantity(value) and clock(value) or nil
end

-- `digits` are those of the shop's own unit, `other_digits` (or as many) of the other system.
function values.both(value, unit, digits, other_digits)
  local text, other = values.text(value, unit, digits),
    values.other(value, unit, other_digits or digits)
  return other and text .. " (" .. other .. ")" or text
end

-- The number at the end of a range, rounded towards `way` (-1 down, 1 up), never the other way.
local function rounded(number, digits, way)
  if number == 0 then
    return number
  end
  local step = 10.0 ^ (math.floor(math.log(math.abs(number), 10) + 1e-12) - digits + 1)
  local count = number / step
  local near = math.floor(count + 0.5)
  if math.abs(count - near) > 1e-9 * math.abs(count) then
    near = way < 0 and math.floor(count) or math.ceil(count)
  end
  -- Read from its digits, so that no last bit of the product spoils it.
  return tonumber(string.format("%.12g", near * step))
end

-- The text of a limit, rounded downwards (`way` -1) or upwards (1).
function values.limit(value, unit, digits, way)
  if not values.is_number(value) then
    return values.text(value, unit, digits)
  end
  local number, name = host.shown(value, nil, unit)
  digits = digits or 6
  local text = host.number(rounded(number, digits, way), digits)
  return name ~= "" and name ~= "1" and text .. " " .. name or text
end

-- A value and its limit as a pair of texts that compare as the values do: the limit is rounded to
-- the side that it leaves free, and both get digits until they differ.
function values.against_limit(value, limit, unit)
  local way = value > limit and 1 or -1
  local digits = 3
  local shown, bound
  repeat
    digits = digits + 1
    shown, bound = values.text(value, unit, digits), values.limit(limit, unit, digits, way)
  until shown ~= bound or value == limit or digits == 10
  local other = values.other(value, unit)
  local name = other_unit(limit, unit)
  return other and shown .. " (" .. other .. ")" or shown,
    name and string.format("%s (%s)", bound, values.limit(limit, name, digits, way)) or bound
end

-- A length for the bench: a shop fraction in inch habit, with what the rounding hides when that is
-- more than a thousandth of an inch.
local THOU = 25.4e-6 -- m, exact

function values.cut(length, denominator)
  if length == nil then
    return ""
  end
  if host.habit() == "metric" then
    return host.text(length, 5)
  end
  local text, err = host.fraction(length, denominator or 64)
  if math.abs(err) > THOU then
    text = string.format("%s (%s%s thou)", text, err > 0 and "+" or "", host.number(err / THOU, 2))
  end
  return text
end

-- Where a value came from, in words.
function values.origin(origin)
  if type(origin) ~= "table" then
    return ""
  end
  if origin.kind == "input" then
    return "input " .. tostring(origin.name)
  elseif origin.kind == "shop" then
    local text = "shop data " .. tostring(origin.path or "")
    if origin.place then
      text = text .. " at " .. origin.place
    end
    return origin.standing and text .. ", " .. origin.standing or text
  elseif origin.kind == "recipe" then
    return string.format("%s of %s", tostring(origin.name), tostring(origin.recipe))
  elseif origin.kind == "calculation" then
    return "from " .. tostring(origin.name)
  end
  return tostring(origin.kind or "")
end

return values
