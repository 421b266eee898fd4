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

function values.is_number(value)
  return type(value) == "number" or host.is_quantity(value)
end

-- The text of a value of any kind. Numbers that a recipe typed as whole stay whole.
function values.text(value, unit, digits)
  if value == nil then
    return ""
  elseif host.is_quantity(value) then
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

-- The same value in the other system, or nil when it has none of its own there.
function values.other(value, unit, digits)
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
  return host.text(value, digits or 4, wanted, name)
end

function values.both(value, unit, digits)
  local text, other = values.text(value, unit, digits), values.other(value, unit, digits)
  return other and text .. " (" .. other .. ")" or text
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
