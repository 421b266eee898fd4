-- The sheet as one JSON object: keys in fixed order, each quantity with unit and SI value.

local document = require "sheet/document"
local cautions = require "sheet/cautions"
local ordered, array = host.ordered, host.array

local json = {}

-- Numbers in the unit that the sheet shows.
local function number(value, unit)
  if not host.is_quantity(value) then
    return value
  end
  local shown, name, si, si_unit = host.shown(value, nil, unit)
  return ordered {{"value", shown}, {"unit", name}, {"si", si}, {"si_unit", si_unit}}
end

local keys_first = {
  "kind", "name", "label", "title", "symbol", "meaning", "brief", "value", "unit", "digits", "low",
  "high", "pass", "level", "limit", "text", "formula", "substituted", "source", "inputs",
  "outputs", "warnings", "note",
}
local rank = {}
for i, key in ipairs(keys_first) do
  rank[key] = i
end

-- Any plain table: lists as arrays, the rest as objects in the order above, then by name.
local function plain(value, unit)
  if type(value) ~= "table" then
    return number(value, unit)
  end
  local keys, list = {}, true
  for key in pairs(value) do
    keys[#keys + 1] = key
    list = list and type(key) == "number"
  end
  if list then
    local copy = {}
    for i, item in ipairs(value) do
      copy[i] = plain(item)
    end
    return array(copy)
  end
  table.sort(keys, function(a, b)
    local ra, rb = rank[a] or 1000, rank[b] or 1000
    if ra ~= rb then
      return ra < rb
    end
    return tostring(a) < tostring(b)
  end)
  local pairs_ = {}
  local own = type(value.unit) == "string" and value.unit or nil
  for i, key in ipairs(keys) do
    local uses = (key == "value" or key == "low" or key == "high" or key == "limit") and own or nil
    if key == "band" and type(value.band) == "table" then
      pairs_[i] = {"band", ordered {{"low", number(value.band.low, own)},
        {"high", number(value.band.high, own)}, {"guesses", plain(value.band.guesses or {})}}}
    else
      pairs_[i] = {tostring(key), plain(value[key], uses)}
    end
  end
  return ordered(pairs_)
end
json.plain = plain

function json.write(model)
  local recipe = model.recipe or {}
  host.set_habit(recipe.units == "metric" and "metric" or "inch")
  local notes = {}
  for i, name in ipairs(model.cautions or {}) do
    local c = cautions.find(name)
    notes[i] = ordered {{"name", name}, {"title", c.title}, {"lines", array(c.lines)},
      {"source", c.source}, {"defers", cautions.defers}}
  end
  return host.json_encode(ordered {
    {"schema", "fettle.sheet.1"},
    {"ok", document.verdict(model) ~= "stop"},
    {"verdict", document.verdict(model)},
    {"recipe", plain(recipe)},
    {"job", plain(model.job or {})},
    {"shop", model.shop and plain(model.shop) or host.null},
    {"engine", plain(model.engine or host.version)},
    {"inputs", plain(model.inputs or {})},
    {"items", plain(model.items or {})},
    {"cautions", array(notes)},
    {"warnings", plain(model.warnings or {})},
    {"taken", plain(model.taken or {})},
    {"budget", ordered {{"effort", model.budget and model.budget.effort or host.null},
      {"time_limited", model.budget and model.budget.time_limited or false}}},
  }, {indent = true}) .. "\n"
end

return json
