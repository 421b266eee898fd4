-- The words of a recipe. Runs in the recipe's own state, out of its reach: `host` holds the C
-- functions, `vocabulary` the names that the recipe can use. What is declared goes into `model`,
-- which only `finish` hands out.

local host, vocabulary = ...
local type, ipairs, pairs, select = type, ipairs, host.pairs, select
local math = math
local format, match, gsub, find = string.format, string.match, string.gsub, string.find
local concat = table.concat
local rawget, rawset = rawget, rawset
local fail = host.fail
local given = require "recipe/given" (host)
local read_only = require "recipe/read_only" (host, given.names)

local model = {
  job = {}, inputs = {}, items = {}, cautions = {}, warnings = {}, taken = {},
  engine = {version = host.version, results_revision = host.results_revision},
  budget = {time_limited = false},
}
local words = {}

-- Kinds of work with cautions, in the order in which sheets print them.
local known_cautions = {
  "dust", "unattended", "spindle", "exotherm", "peroxide", "styrene", "isocyanate", "amine",
  "lifting", "vacuum", "oven", "hot_wire",
}
local caution_set = {}
for _, name in ipairs(known_cautions) do
  caution_set[name] = true
end

local raised_cautions = {}
local seen_warnings = {}

-- --- what the calculations leave behind ---

local function warn(place, message)
  local key = place .. "\0" .. message
  if not seen_warnings[key] then
    seen_warnings[key] = true
    model.warnings[#model.warnings + 1] = {place = place, message = message}
  end
end

local function observe(working)
  for _, hazard in ipairs(working.hazards or {}) do
    raised_cautions[hazard] = true
  end
  for _, warning in ipairs(working.warnings or {}) do
    warn(host.place(), format("%s: %s", working.name or "", warning.message))
  end
  if working.time_limited then
    model.budget.time_limited = true
  end
  if type(working.effort) == "number" then
    model.budget.effort = (model.budget.effort or 0) + working.effort
  end
end

local function observed(first, second, ...)
  if type(second) == "table" and second.kind == "calculation" then
    observe(second)
  elseif type(first) == "table" and type(first.working) == "table" then
    observe(first.working)
  end
  return first, second, ...
end

for name, domain in pairs(vocabulary) do
  if type(domain) == "table" and name ~= "string" and name ~= "table" and name ~= "math" then
    for calculation, call in pairs(domain) do
      if type(call) == "function" then
        domain[calculation] = function(...)
          return observed(call(...))
        end
      end
    end
  end
end

-- Workings refer to the workings of their inputs; a sheet shows one level and names the next.
local function short_origin(origin)
  if not origin then
    return nil
  end
  return {
    kind = origin.kind, name = origin.name, path = origin.path, place = origin.place,
    standing = origin.standing, recipe = origin.recipe, low = origin.low, high = origin.high,
  }
end

local function plain_working(working)
  local copy = {}
  for name, value in pairs(working) do
    if name == "inputs" then
      local inputs = {}
      for i, input in ipairs(value) do
        local row = {}
        for field, content in pairs(input) do
          row[field] = content
        end
        row.origin = short_origin(input.origin or host.origin(input.value))
        inputs[i] = row
      end
      copy.inputs = inputs
    elseif type(value) ~= "function" then
      copy[name] = given.plain("working", value)
    end
  end
  return copy
end

-- --- order and names ---

local names_taken = {}

local function declared(kind, name)
  given.name(kind, name)
  local key = kind .. " " .. name
  if names_taken[key] then
    fail(format("%s: the name is taken by the one at %s: choose another", key, names_taken[key]))
  end
  names_taken[key] = host.place()
end

local function begun(word)
  if not model.recipe then
    fail(word .. ": a recipe starts with recipe{name = ..., units = ...}")
  end
end

local function add(item)
  model.items[#model.items + 1] = item
  return item
end

local function text_word(word, value)
  begun(word)
  if type(value) ~= "string" then
    fail(format("%s takes one text: %s \"...\"", word, word))
  end
  return value
end

-- --- head ---

function words.recipe(t)
  if model.recipe then
    fail("recipe: a recipe has one name: this is the second recipe{}")
  end
  local r = given.fields("recipe", t, {
    name = "text!", part = "text", units = "text", engine = "whole", note = "text",
  })
  r.units = r.units or "inch"
  if r.units ~= "inch" and r.units ~= "metric" then
    fail(format("recipe: units = '%s': must be \"inch\" or \"metric\"", r.units))
  end
  r.engine = r.engine or host.recipe_engine
  if r.engine ~= host.recipe_engine then
    fail(format("recipe: engine = %d: this program runs recipes of engine %d", r.engine,
      host.recipe_engine))
  end
  r.file, r.digest = host.file, host.digest
  host.set_habit(r.units)
  model.recipe = r
end

local job_fields = {
  {"job", "Job", "text"},
  {"operator", "Operator", "text"},
  {"date", "Date", "text"},
  {"temperature", "Shop temperature", "value"},
  {"lots", "Lots", "text or list"},
  {"revision", "Revision", "text"},
}

local job_given

local function job_value(name, kind, preset)
  local text = host.setting("job." .. name)
  if not text then
    if type(preset) == "table" then
      return concat(preset, ", ")
    end
    return preset
  end
  if kind == "value" then
    return host.read_setting("job." .. name, text, preset or host.temperature)
  end
  return text
end

function words.job(t)
  begun("job")
  if job_given then
    fail("job: is given twice")
  end
  local fields = {}
  for _, field in ipairs(job_fields) do
    fields[field[1]] = field[3]
  end
  job_given = given.fields("job", t, fields)
  for _, lot in ipairs(type(job_given.lots) == "table" and job_given.lots or {}) do
    if type(lot) ~= "string" then
      fail("job: lots must be a list of texts")
    end
  end
  if job_given.temperature then
    host.like("job: temperature", job_given.temperature, host.temperature)
  end
  local values = {}
  for _, field in ipairs(job_fields) do
    values[field[1]] = job_value(field[1], field[3], job_given[field[1]])
  end
  return values
end

-- --- inputs ---

local function label_of(name)
  return (gsub(name, "_", " "))
end

local function check_choices(what, value, choices)
  for _, choice in ipairs(choices) do
    if type(choice) == type(value) and choice == value then
      return
    end
  end
  local texts = {}
  for i, choice in ipairs(choices) do
    texts[i] = host.text(choice)
  end
  fail(format("%s = %s: must be one of %s", what, host.text(value), concat(texts, ", ")), "range")
end

-- `shown` is the value as it was typed or as it prints.
local function check_limits(what, value, i, shown)
  if i.low ~= nil and value < i.low then
    fail(format("%s = %s: must not be below %s", what, shown, host.text(i.low)), "range")
  end
  if i.high ~= nil and value > i.high then
    fail(format("%s = %s: must not be above %s", what, shown, host.text(i.high)), "range")
  end
  if i.whole and value % 1 ~= 0 then
    fail(format("%s = %s: must be a whole number", what, shown), "range")
  end
end

local function value_input(t)
  local i, what = given.fields("input", t, {
    name = "text!", default = "scalar", low = "value", high = "value", choices = "list",
    whole = "boolean", meaning = "text", note = "text", unit = "text", label = "text",
    kind = "text",
  })
  declared("input", i.name)
  local like = i.default
  if like == nil then
    like = i.low or i.high or (i.choices and i.choices[1])
    if like == nil and i.unit then
      like = host.one(what, i.unit)
    end
    if like == nil then
      fail(what .. ": default is missing: give one, or unit = \"...\" when it must always be set")
    end
  end
  local numeric = type(like) == "number" or host.is_quantity(like)
  for _, limit in ipairs {"low", "high"} do
    if i[limit] ~= nil then
      if not numeric then
        fail(format("%s: %s is given, but the default is no number", what, limit))
      end
      host.like(what .. ": " .. limit, i[limit], like)
    end
  end
  if i.low ~= nil and i.high ~= nil and i.high < i.low then
    fail(format("%s: low %s is above high %s: exchange them", what, host.text(i.low),
      host.text(i.high)))
  end
  if i.whole and type(like) ~= "number" then
    fail(what .. ": whole is for plain numbers")
  end
  if i.choices then
    if #i.choices == 0 then
      fail(what .. ": choices is empty")
    end
    i.choices = given.plain(what .. ": choices", i.choices)
    for _, choice in ipairs(i.choices) do
      if host.is_quantity(like) or type(like) == "number" then
        host.like(what .. ": a choice", choice, like)
      elseif type(choice) ~= type(like) then
        fail(format("%s: a choice is %s, the default is %s", what, host.describe(choice),
          host.describe(like)))
      end
    end
  end
  local text = host.setting(i.name)
  local value = i.default
  if text then
    value = host.read_setting(i.name, text, like)
  elseif value == nil then
    fail(format("%s has no value: give --set %s=VALUE", what, i.name), "argument")
  end
  if i.unit then
    value = given.in_unit(what, value, i.unit)
  end
  if numeric then
    check_limits(text and i.name or what .. ": default", value, i, text or host.text(value))
  end
  if i.choices then
    check_choices(text and i.name or what .. ": default", value, i.choices)
  end
  value = host.with_origin(value, {kind = "input", name = i.name})
  model.inputs[#model.inputs + 1] = {
    name = i.name, label = i.label or label_of(i.name), value = value, unit = i.unit,
    low = i.low, high = i.high, choices = i.choices, meaning = i.meaning, note = i.note,
    set = text and true or nil,
  }
  return value
end

local function file_input(t, extra)
  local fields = {
    name = "text!", kind = "text!", file = "text!", meaning = "text", note = "text",
    label = "text",
  }
  for name, kind in pairs(extra) do
    fields[name] = kind
  end
  local i, what = given.fields("input", t, fields)
  declared("input", i.name)
  local text = host.setting(i.name)
  i.file = text or i.file
  model.inputs[#model.inputs + 1] = {
    name = i.name, label = i.label or label_of(i.name), value = i.file, kind = i.kind,
    meaning = i.meaning, note = i.note, set = text and true or nil,
  }
  return i, what, model.inputs[#model.inputs]
end

local csv_columns = {
  name = "text!", unit = "text", text = "boolean", whole = "boolean", role = "text",
  choices = "list", optional = "boolean",
}

local file_kinds = {}

function file_kinds.csv(t)
  local i, what, row = file_input(t, {columns = "list!"})
  local columns = {}
  for n, column in ipairs(i.columns) do
    columns[n] = given.fields(what .. ": column", column, csv_columns)
  end
  if #columns == 0 then
    fail(what .. ": columns is empty: name each with its unit, text = true or whole = true")
  end
  local rows
  rows, row.digest = host.read_csv(i.file, columns)
  return rows
end

function file_kinds.calculations(t)
  local i, _, row = file_input(t, {})
  local value
  value, row.digest = host.load_calculations(i.file)
  return value
end

function words.input(t)
  begun("input")
  if type(t) == "table" and t.kind ~= nil then
    local read = file_kinds[t.kind]
    if not read then
      fail(format("input %s: kind = '%s': must be \"csv\" or \"calculations\"", host.text(t.name),
        host.text(t.kind)))
    end
    return read(t)
  end
  return value_input(t)
end

function words.shop_data(name)
  text_word("shop_data", name)
  if model.shop then
    fail("shop_data: a recipe has one file of shop data: this is the second")
  end
  local data
  data, model.shop = host.shop_data(name)
  return read_only(data, model.shop.path)
end

function words.from_recipe(t)
  begun("from_recipe")
  local f = given.fields("from_recipe", t, {recipe = "text!", result = "text!"})
  local taken = host.take(f.recipe, f.result)
  model.taken[#model.taken + 1] = {
    recipe = f.recipe, result = f.result, value = taken.value, stale = taken.stale,
    was = taken.was,
  }
  if taken.stale then
    warn(host.place(), format("%s of %s has changed since it was recorded here: %s then, %s now: "
      .. "look at this sheet again, then record it", f.result, f.recipe, host.text(taken.was),
      host.text(taken.value)))
  end
  local working = taken.working
  if working and working.hazards then
    observe {hazards = working.hazards}
  end
  return host.with_origin(taken.value, {
    kind = "recipe", recipe = f.recipe, name = f.result, working = working, place = taken.place,
    stale = taken.stale,
  }), working
end

-- --- results and checks ---

local function stated_working(what, w, source)
  if type(w) == "string" then
    if not source then
      fail(what .. ": working is a text, so source must say where it comes from")
    end
    return {
      kind = "stated", substituted = w, source = source, inputs = {}, outputs = {}, hazards = {},
      warnings = {},
    }
  end
  if w and w.kind ~= "calculation" and w.kind ~= "stated" then
    fail(what .. ": working must be the record that a calculation returned, or a text")
  end
  return w
end

local function formula_result(what, r)
  if not r.with or host.is_empty(r.with) then
    fail(what .. ": formula needs its values: with = {symbol = value, ...}")
  end
  local inputs, with = {}, {} -- a copy, since r.with may be a read-only table of shop data
  for symbol, value in pairs(r.with) do
    if type(symbol) ~= "string" then
      fail(format("%s: with: %s is no symbol: write with = {symbol = value}", what,
        host.describe(symbol)))
    end
    if not (type(value) == "number" or host.is_quantity(value)) then
      fail(format("%s: with: %s must be a quantity or a number, not %s", what, host.text(symbol),
        host.describe(value)))
    end
    given.finite(what .. ": with: " .. symbol, value)
    with[symbol] = value
    inputs[#inputs + 1] =
      {name = symbol, symbol = symbol, value = value, origin = host.origin(value)}
  end
  local text = r.formula
  if not find(gsub(text, "[<>=~!]=", ""), "=", 1, true) then
    text = r.name .. (r.with[r.name] ~= nil and "_result" or "") .. " = " .. text
  end
  local value, substituted, symbol = host.evaluate(what, text, with, r.unit)
  return value, {
    kind = "calculation", name = r.name, brief = r.meaning, formula = text,
    substituted = substituted, source = r.source or "formula of this recipe", inputs = inputs,
    outputs = {{name = r.name, symbol = symbol, value = value}}, hazards = {}, warnings = {},
  }
end

function words.result(t)
  begun("result")
  local r, what = given.fields("result", t, {
    name = "text!", value = "value", unit = "text", digits = "whole", meaning = "text",
    note = "text", working = "table or text", source = "text", formula = "text", with = "table",
  })
  declared("result", r.name)
  if (r.value == nil) == (r.formula == nil) then
    fail(what .. ": give either value or formula (with its values in with)")
  end
  if r.digits and (r.digits < 1 or r.digits > 17) then
    fail(what .. ": digits must be 1 to 17")
  end
  local value, working = r.value, stated_working(what, r.working, r.source)
  local origin = host.origin(value)
  if r.formula then
    value, working = formula_result(what, r)
  elseif not working and origin then
    if origin.kind == "calculation" then
      working = origin
    elseif origin.kind == "recipe" then
      working = origin.working
    end
  end
  if not working and not origin then
    fail(what .. ": has no working: give formula = \"...\" with = {...}, or working = what the "
      .. "calculation returned, or working = \"...\" with source = \"...\"")
  end
  value = given.in_unit(what, value, r.unit)
  if working then
    observe {hazards = working.hazards, time_limited = working.time_limited}
  end
  local shown = working and plain_working(working)
  add {
    kind = "result", name = r.name, meaning = r.meaning, value = value, unit = r.unit,
    digits = r.digits, note = r.note, working = shown, origin = short_origin(origin),
    place = host.place(), stale = origin and origin.stale or nil,
  }
  return working and host.with_origin(value, working) or value
end

function words.check(t)
  begun("check")
  local c, what = given.fields("check", t, {
    name = "text!", pass = "boolean!", level = "text", value = "scalar", limit = "scalar",
    meaning = "text", cure = "text", unit = "text",
  })
  declared("check", c.name)
  c.level = c.level or "stop"
  if c.level ~= "stop" and c.level ~= "warn" then
    fail(format("%s: level = '%s': must be \"stop\" or \"warn\"", what, c.level))
  end
  c.value = given.in_unit(what .. ": value", c.value, c.unit)
  c.limit = given.in_unit(what .. ": limit", c.limit, c.unit)
  c.kind, c.place, c.origin = "check", host.place(), short_origin(host.origin(c.value))
  add(c)
  return c.pass
end

function words.section(value)
  add {kind = "section", text = text_word("section", value)}
end

function words.note(value)
  add {kind = "note", text = text_word("note", value)}
end

function words.print(...)
  begun("print")
  local texts = {}
  for i = 1, select("#", ...) do
    texts[i] = host.text((select(i, ...)))
  end
  local text = concat(texts, " ")
  host.charge_output(#text + 1)
  add {kind = "note", text = text}
end

function words.caution(value)
  text_word("caution", value)
  if not caution_set[value] then
    local near = host.nearest(caution_set, value)
    fail(format("caution: '%s' is not known: %s", value, near and "the nearest is '" .. near .. "'"
      or "known are " .. concat(known_cautions, ", ")))
  end
  raised_cautions[value] = true
  add {kind = "caution", name = value}
end

-- round_to(value, step, "up" | "down" | "nearest")
function words.round_to(value, step, way)
  local count = value / step
  if type(count) ~= "number" then
    fail("round_to: value and step must be of one dimension")
  end
  given.finite("round_to: value / step", count)
  -- Sums of decimal inches miss their step by some bits: 0.75 / 0.25 may be a little above 3.
  local whole = math.floor(count + 0.5)
  if math.abs(count - whole) > 1e-9 * math.max(1, math.abs(count)) then
    if way == "up" then
      whole = math.ceil(count)
    elseif way == "down" then
      whole = math.floor(count)
    elseif way ~= nil and way ~= "nearest" then
      fail("round_to: the way must be \"up\", \"down\" or \"nearest\"")
    end
  end
  return whole * step
end

local bench = require "recipe/bench" (host, given, {
  begun = begun, declared = declared, add = add, observe = observe,
})
for name, word in pairs(bench) do
  words[name] = word
end

-- --- a shop's own calculations ---

local parameter_fields = {
  name = "text!", symbol = "text", unit = "text!", inch_unit = "text", meaning = "text",
  low = "value", high = "value", usual_low = "value", usual_high = "value", default = "value",
  whole = "boolean",
}

local function check_example(what, call, outputs, example)
  local e = given.fields(what, example, {
    inputs = "table!", outputs = "table!", tolerance = "value or text", source = "text",
  })
  local first = call(e.inputs)
  local got = type(first) == "table" and first or {[outputs[1].name] = first}
  for name, want in pairs(e.outputs) do
    if got[name] == nil then
      fail(format("%s: there is no output '%s'", what, host.text(name)))
    end
    host.like(format("%s: %s", what, name), want, got[name])
    local tolerance = e.tolerance or "0.1 %"
    if type(tolerance) == "string" then
      if match(tolerance, "%%%s*$") then
        tolerance = host.magnitude(want) * host.read_setting("tolerance", tolerance, 1)
      else
        tolerance = host.read_setting("tolerance", tolerance, want - want)
      end
    end
    if host.magnitude(got[name] - want) > tolerance then
      fail(format("%s: %s: the formula gives %s, the check says %s within %s: correct one of them",
        what, name, host.text(got[name]), host.text(want), host.text(tolerance)), "check")
    end
  end
end

local own_descriptions = {}

function words.calculation(t)
  local c = given.fields("calculation", t, {
    name = "text!", brief = "text!", formula = "text!", parameters = "list!", outputs = "list!",
    notes = "text", source = "text", checks = "list",
  })
  local what = "calculation " .. c.name
  if not match(c.name, "^[%a][%w_]*%.[%a][%w_]*$") and not match(c.name, "^[%a][%w_]*$") then
    fail(what .. ": the name must be like shop.lap_area: letters, digits and '_'")
  end
  local key = "calculation " .. c.name
  if names_taken[key] then
    fail(format("%s: the name is taken by the one at %s: choose another", what, names_taken[key]))
  end
  names_taken[key] = host.place()
  for _, list in ipairs {"parameters", "outputs"} do
    local rows, seen = {}, {}
    for i, row in ipairs(c[list]) do
      rows[i] = given.fields(what .. ": a row of " .. list, row, parameter_fields)
      given.name(what, rows[i].name)
      if seen[rows[i].name] then
        fail(format("%s: %s is there twice", what, rows[i].name))
      end
      seen[rows[i].name] = true
    end
    c[list] = rows
  end
  c.source = c.source or "shop rule"
  local made, description = host.calculation(c)
  local function call(...)
    return observed(made(...))
  end
  for i, example in ipairs(c.checks or {}) do
    check_example(format("%s: check %d", what, i), call, c.outputs, example)
  end
  own_descriptions[#own_descriptions + 1] = description
  if host.session then
    local domain, short = match(c.name, "^(.-)%.(.+)$")
    if not domain then
      rawset(vocabulary, c.name, call)
    else
      if type(rawget(vocabulary, domain)) ~= "table" then
        rawset(vocabulary, domain, {})
      end
      vocabulary[domain][short] = call
    end
  end
  return call
end

if host.session then
  -- A session has no sheet: only the words that need none.
  local function print(...)
    local texts = {}
    for i = 1, select("#", ...) do
      texts[i] = host.text((select(i, ...)))
    end
    return concat(texts, " ")
  end
  return {calculation = words.calculation, round_to = words.round_to, print = print}, function()
    local all = host.descriptions()
    for _, description in ipairs(own_descriptions) do
      all[#all + 1] = description
    end
    table.sort(all, function(a, b) return a.name < b.name end)
    return all
  end
end


-- --- end ---

local function finish()
  if not model.recipe then
    fail(host.file .. ": declares no recipe: it starts with recipe{name = ..., units = ...}")
  end
  for i, field in ipairs(job_fields) do
    local name, label, kind = field[1], field[2], field[3]
    model.job[i] = {
      name = name, label = label, value = job_value(name, kind, job_given and job_given[name]),
    }
  end
  local left = host.setting_left()
  if left then
    local known = {shop = model.shop and true or nil}
    for _, input in ipairs(model.inputs) do
      known[input.name] = true
    end
    for _, field in ipairs(job_fields) do
      known["job." .. field[1]] = true
    end
    local near = host.nearest(known, left)
    fail(format("--set %s: the recipe has no such input: %s", left,
      near and "the nearest is " .. near or "it has " .. given.names(known)))
  end
  for _, name in ipairs(known_cautions) do
    if raised_cautions[name] then
      model.cautions[#model.cautions + 1] = name
    end
  end
  return model
end

return words, finish
