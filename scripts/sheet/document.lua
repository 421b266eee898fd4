-- Turns the sheet model into blocks that every form of the sheet writes in its own way.
--
-- Blocks: {kind = "heading", level, text} {kind = "fields", rows = {{label, value or nil}}}
-- {kind = "paragraph", text} {kind = "table", title or nil, columns, rows, note} {kind = "steps",
-- title or nil, items} {kind = "result", ...} {kind = "check", ...}
-- {kind = "caution", name, full, where or nil} {kind = "picture",
-- list} {kind = "signoff", labels}.

local cautions = require "sheet/cautions"
local values = require "sheet/values"
local plot = require "drawing/plot"
local nest = require "drawing/nest"
local shapes = require "drawing/shapes"

local document = {}

local FILL = "__________" -- a place to write by hand

local function label_of(name)
  return (tostring(name):gsub("_", " "))
end

local function limits_text(input)
  local low, high = values.limit(input.low, input.unit, nil, 1),
    values.limit(input.high, input.unit, nil, -1)
  if low ~= "" and high ~= "" then
    return low .. " to " .. high
  elseif low ~= "" then
    return "from " .. low
  elseif high ~= "" then
    return "up to " .. high
  elseif type(input.choices) == "table" then
    return "one of " .. values.text(input.choices)
  end
  return ""
end

-- "cutter diameter D = 1/2 in (shop data ..., data sheet)" for each input of a working.
local function input_lines(working)
  local lines = {}
  for i, input in ipairs(working.inputs or {}) do
    local text = tostring(input.name)
    if input.symbol ~= input.name then
      text = label_of(input.name) .. (input.symbol and ", " .. input.symbol or "")
    end
    text = text .. " = " .. values.text(input.value, nil, 6)
    local origin = values.origin(input.origin)
    lines[i] = origin ~= "" and text .. " (" .. origin .. ")" or text
  end
  return lines
end

-- What tells one working from another; nil for what is no record.
local function same_working(working)
  if type(working) ~= "table" or not working.substituted then
    return nil
  end
  local parts = {tostring(working.name), working.substituted, tostring(working.source)}
  for i, line in ipairs(input_lines(working)) do
    parts[3 + i] = line
  end
  return table.concat(parts, "\0")
end

-- Lines {label, text} that account for a value.
function document.working_lines(working)
  local lines = {}
  if type(working) ~= "table" then
    return lines
  end
  local function add(label, text)
    if text and text ~= "" then
      lines[#lines + 1] = {label, text}
    end
  end
  add("calculation", working.kind == "calculation" and working.name)
  add("formula", working.formula)
  add("values put in", working.substituted)
  for _, line in ipairs(input_lines(working)) do
    add("from", line)
  end
  add("source", working.source)
  return lines
end

local build = {}

function build.section(item)
  return {{kind = "heading", level = 2, text = item.text or ""}}
end

function build.note(item)
  return {{kind = "paragraph", text = item.text or ""}}
end

function build.result(item, state)
  local working = type(item.working) == "table" and item.working or nil
  local block = {
    kind = "result", name = label_of(item.name), meaning = item.meaning,
    value = values.text(item.value, item.unit, item.digits),
    other = values.other(item.value, item.unit, item.digits), lines = {}, warnings = {},
    stale = item.stale and true or false,
  }
  local key = same_working(working)
  if key and state.workings[key] then
    block.lines[1] = {"working", "that of " .. state.workings[key]}
  else
    for _, line in ipairs(document.working_lines(working)) do
      block.lines[#block.lines + 1] = line
    end
    if key then
      state.workings[key] = block.name
    end
  end
  if item.origin and not (working and item.origin.kind == "calculation") then
    block.lines[#block.lines + 1] = {"origin", values.origin(item.origin)}
  end
  if item.band then
    local guesses = {}
    for i, guess in ipairs(item.band.guesses or {}) do
      guesses[i] = type(guess) == "table" and tostring(guess.path or guess.name) or tostring(guess)
    end
    block.band = string.format("%s to %s, because %s %s guessed",
      values.limit(item.band.low, item.unit, item.digits or 4, -1),
      values.limit(item.band.high, item.unit, item.digits or 4, 1),
      #guesses > 0 and table.concat(guesses, ", ") or "a value",
      #guesses > 1 and "are" or "is")
  end
  if item.note then
    block.lines[#block.lines + 1] = {"note", item.note}
  end
  for i, warning in ipairs(working and working.warnings or {}) do
    block.warnings[i] = type(warning) == "table" and warning.message or tostring(warning)
  end
  return {block}
end

function build.check(item)
  local word = item.pass and "PASS" or item.level == "warn" and "WARN" or "STOP"
  local text = ""
  if item.value ~= nil and item.limit ~= nil and values.is_number(item.value) then
    text = string.format("%s, limit %s", values.against_limit(item.value, item.limit, item.unit))
  elseif item.value ~= nil then
    text = values.both(item.value, item.unit)
  elseif item.limit ~= nil then
    text = "limit " .. values.both(item.limit, item.unit, 6)
  end
  return {{kind = "check", word = word, name = label_of(item.name), meaning = item.meaning,
    text = text, cure = not item.pass and item.cure or nil}}
end

local function titled(item, fallback)
  return item.title or item.name and label_of(item.name) or fallback
end

-- Grams as the scale shows them: to its step, ties to even.
local function on_scale(mass, step)
  if mass == nil then
    return ""
  end
  local grams = host.convert(mass, "g")
  local by = step and host.convert(step, "g") or 1
  local count = grams / by
  local whole = math.floor(count + 0.5)
  if count + 0.5 == whole and whole % 2 == 1 then
    whole = whole - 1
  end
  return host.number(whole * by, 7) .. " g"
end

-- The parts of a pot in whatever form a recipe wrote them, or nil: {parts = {...}}, {{...}, ...},
-- {masses = {...}}, {material =, mass =}, {resin = mass, hardener = mass} or a mass.
local function parts_of(pot, order)
  if host.is_quantity(pot) then
    return select(4, host.shown(pot)) == "kg" and {{material = "all parts", mass = pot}} or nil
  elseif type(pot) ~= "table" then
    return nil
  elseif pot.parts or pot.masses then
    return pot.parts or pot.masses
  elseif #pot > 0 then
    return type(pot[1]) == "table" and pot or nil
  elseif pot.mass then
    return {pot}
  end
  local named = {}
  for key, amount in pairs(pot) do
    if host.is_quantity(amount) then
      local is_mass = select(4, host.shown(amount)) == "kg"
      named[#named + 1] = {material = label_of(key), key = key, mass = is_mass and amount or nil,
        volume = not is_mass and amount or nil}
    end
  end
  table.sort(named, function(a, b)
    local ra, rb = order[a.key] or order[a.material] or 1000, order[b.key] or order[b.material] or 1000
    if ra ~= rb then
      return ra < rb
    end
    return a.material < b.material
  end)
  return #named > 0 and named or nil
end

local function part_name(part)
  return tostring(part.material or part.name or "")
end

local PARTS_ABREAST = 3 -- more would not stand side by side on a narrow sheet

-- One table for all pots when they are mixed of the same few parts, a row a pot; nil otherwise.
local function pots_abreast(title, pots, step)
  if #pots < 2 or #pots[1] > PARTS_ABREAST then
    return nil
  end
  local columns, rows = {{title = "pot", align = "right"}}, {}
  for _, part in ipairs(pots[1]) do
    columns[#columns + 1] = {title = part_name(part), align = "right"}
    columns[#columns + 1] = {title = "actual"}
  end
  columns[#columns + 1] = {title = "mixed at"}
  for i, parts in ipairs(pots) do
    if #parts ~= #pots[1] then
      return nil
    end
    rows[i] = {tostring(i)}
    for j, part in ipairs(parts) do
      if part_name(part) ~= part_name(pots[1][j]) then
        return nil
      end
      local amounts = {}
      amounts[1] = part.mass and on_scale(part.mass, step)
      amounts[#amounts + 1] = part.volume and values.text(part.volume)
      rows[i][2 * j] = table.concat(amounts, " or ")
      rows[i][2 * j + 1] = "[ ] ________"
    end
    rows[i][#columns] = "________"
  end
  return {kind = "table", title = title .. ", pot by pot", columns = columns, rows = rows}
end

function build.mix_sheet(item)
  local blocks = {}
  local step = item.scale_step
  local function mix(title, parts)
    local by_volume = false
    for _, part in ipairs(parts) do
      by_volume = by_volume or part.volume ~= nil
    end
    local columns = {{title = "material"}, {title = "lot"}, {title = "weigh", align = "right"}}
    if by_volume then
      columns[4] = {title = "or measure", align = "right"}
    end
    columns[#columns + 1] = {title = "actual"}
    local rows = {}
    for i, part in ipairs(parts) do
      rows[i] = {part_name(part), part.lot or FILL, on_scale(part.mass, step)}
      if by_volume then
        rows[i][4] = values.text(part.volume)
      end
      rows[i][#columns] = "[ ] " .. FILL
    end
    blocks[#blocks + 1] = {kind = "table", title = title, columns = columns, rows = rows}
  end
  local title = titled(item, "mix")
  local order = {}
  for i, part in ipairs(item.parts or {}) do
    order[part_name(part)] = i
    order[part.name or i] = i
  end
  if #(item.parts or {}) > 0 then
    mix(title, item.parts)
  end
  local pots, every = {}, #(item.pots or {}) > 0
  for i, pot in ipairs(item.pots or {}) do
    pots[i] = parts_of(pot, order) or false
    every = every and pots[i] and true
  end
  -- A single pot of the parts above says nothing new.
  local alone = every and #pots == 1 and #blocks > 0 and #pots[1] > 1
  local abreast = every and pots_abreast(title, pots, step)
  if abreast then
    blocks[#blocks + 1] = abreast
  elseif not alone then
    for i, pot in ipairs(item.pots or {}) do
      if pots[i] then
        mix(string.format("%s, pot %d", title, i), pots[i])
      else
        blocks[#blocks + 1] = {kind = "paragraph",
          text = string.format("%s, pot %d: %s", title, i, values.text(pot))}
      end
    end
  end
  blocks[#blocks + 1] = {kind = "paragraph", text = string.format("Weights are to the scale's step "
    .. "of %s. Tick each when it is in the pot and write the actual weight.",
    step and host.text(step, 6, nil, "g") or "1 g")}
  if item.note then
    blocks[#blocks + 1] = {kind = "paragraph", text = item.note}
  end
  return blocks
end

function build.cut_list(item)
  local rows, any = {}, {width = false, thickness = false, from = false, note = false}
  for _, piece in ipairs(item.pieces or {}) do
    for key in pairs(any) do
      any[key] = any[key] or piece[key] ~= nil
    end
  end
  local columns = {{title = "piece"}, {title = "count", align = "right"}, {title = "length"}}
  local keys = {}
  for _, key in ipairs {"width", "thickness", "from", "note"} do
    if any[key] then
      columns[#columns + 1] = {title = key}
      keys[#keys + 1] = key
    end
  end
  columns[#columns + 1] = {title = "done"}
  for i, piece in ipairs(item.pieces or {}) do
    local row = {tostring(piece.name or ""), tostring(piece.count or 1),
      values.cut(piece.length, item.denominator)}
    for _, key in ipairs(keys) do
      local value = piece[key]
      row[#row + 1] = host.is_quantity(value) and values.cut(value, item.denominator)
        or values.text(value)
    end
    row[#row + 1] = "[ ]"
    rows[i] = row
  end
  local note = item.note
  if host.habit() ~= "metric" then
    local fractions = string.format("Lengths to 1/%d in; what rounding adds or takes stands in "
      .. "brackets where it is over 1 thou.", item.denominator or 64)
    note = note and fractions .. " " .. note or fractions
  end
  return {{kind = "table", title = titled(item, "cut list"), columns = columns, rows = rows,
    note = note}}
end

function build.table(item)
  local columns, rows = {}, {}
  for i, column in ipairs(item.columns or {}) do
    local numeric = false
    for _, row in ipairs(item.rows or {}) do
      numeric = numeric or values.is_number(row[i])
    end
    columns[i] = {title = tostring(column.title or ""), align = numeric and "right" or nil}
  end
  for i, row in ipairs(item.rows or {}) do
    rows[i] = {}
    for j, column in ipairs(item.columns) do
      rows[i][j] = values.text(row[j], column.unit, column.digits)
    end
  end
  return {{kind = "table", title = titled(item, "table"), columns = columns, rows = rows,
    note = item.note}}
end

function build.plot(item)
  local columns, rows = plot.table(item)
  return {{kind = "picture", list = plot.draw(item)},
    {kind = "table", title = titled(item, "plot") .. ", numbers", columns = columns, rows = rows,
      note = item.note}}
end

function build.drawing(item)
  local title = titled(item, "drawing")
  local layout = item.nest
  if not layout then
    local columns, rows = shapes.table(item)
    return {{kind = "picture", list = shapes.draw(item)},
      {kind = "table", title = title .. ", numbers", columns = columns, rows = rows,
        note = item.note}}
  end
  local blocks = {}
  for _, sheet in ipairs(nest.draw(layout, title, item.denominator)) do
    blocks[#blocks + 1] = {kind = "picture", list = sheet.picture}
    blocks[#blocks + 1] = {kind = "table", title = string.format("%s, pieces of %s", title, sheet.title),
      columns = sheet.columns, rows = sheet.rows}
    if #sheet.cuts > 0 then
      blocks[#blocks + 1] = {kind = "steps", title = string.format("%s, cuts of %s", title, sheet.title),
        items = sheet.cuts}
    end
  end
  if #blocks == 0 then
    blocks[1] = {kind = "paragraph", text = title .. ": no sheet is used."}
  end
  for _, left in ipairs(layout.unplaced or {}) do
    blocks[#blocks + 1] = {kind = "paragraph", text = string.format("NOT PLACED: %s of %s",
      values.text(left.count), tostring(left.name))}
  end
  if item.note then
    blocks[#blocks + 1] = {kind = "paragraph", text = item.note}
  end
  return blocks
end

-- Cautions that the calculations of an item call for and that its section has not shown yet.
local function raised_by(item)
  local working = item.working or (type(item.nest) == "table" and item.nest.working)
  return type(working) == "table" and working.hazards or {}
end

local function body(model, blocks)
  local function add(block)
    blocks[#blocks + 1] = block
  end
  -- A caution stands in full where its work comes first and is called to mind in later sections.
  local shown, full, section = {}, {}, "Results"
  local state = {workings = {}}
  local function caution(name)
    if shown[name] then
      return
    end
    shown[name] = true
    add {kind = "caution", name = name, full = not full[name], where = full[name]}
    full[name] = full[name] or section
  end
  for _, item in ipairs(model.items or {}) do
    if item.kind == "section" then
      shown, section = {}, item.text or ""
    end
    local names = item.kind == "caution" and {} or raised_by(item)
    for _, name in ipairs(names) do
      caution(name)
    end
    if item.kind == "caution" then
      caution(item.name)
    elseif build[item.kind] then
      for _, block in ipairs(build[item.kind](item, state)) do
        add(block)
      end
    end
  end
end

-- "pass", "warn" or "stop": the worst of the checks; warnings of calculations count as warn.
function document.verdict(model)
  local worst = #(model.warnings or {}) > 0 and "warn" or "pass"
  for _, item in ipairs(model.items or {}) do
    if item.kind == "check" and not item.pass then
      if item.level ~= "warn" then
        return "stop"
      end
      worst = "warn"
    end
  end
  for _, taken in ipairs(model.taken or {}) do
    if taken.stale and worst == "pass" then
      worst = "warn"
    end
  end
  return worst
end

local verdict_text = {
  pass = "PASS: every check passed and nothing is outside its usual range.",
  warn = "WARN: read the warnings before the work starts.",
  stop = "STOP: a check failed. Do not start the work.",
}

function document.build(model)
  local recipe = model.recipe or {}
  host.set_habit(recipe.units == "metric" and "metric" or "inch")
  local blocks = {{kind = "heading", level = 1, text = recipe.part or recipe.name or "Job sheet"}}
  local function add(block)
    blocks[#blocks + 1] = block
  end
  local head = {{"Recipe", tostring(recipe.name or "")}, {"Part", recipe.part}}
  for _, field in ipairs(model.job or {}) do
    local value = values.both(field.value)
    -- "foam:      glue:" leaves room to write after each colon.
    value = value:gsub(":%s%s+", ": " .. FILL .. " "):gsub(":%s*$", ": " .. FILL)
    head[#head + 1] = {field.label or label_of(field.name), value ~= "" and value or nil}
  end
  add {kind = "fields", title = "Job", rows = head}
  if recipe.note then
    add {kind = "paragraph", text = recipe.note}
  end
  add {kind = "verdict", word = document.verdict(model):upper(),
    text = verdict_text[document.verdict(model)]}
  if #(model.cautions or {}) > 0 then
    add {kind = "heading", level = 2, text = "Cautions for this work"}
    for _, name in ipairs(model.cautions) do
      add {kind = "caution", name = name}
    end
    add {kind = "paragraph", text = cautions.defers}
  end
  if #(model.inputs or {}) > 0 then
    local rows = {}
    for i, input in ipairs(model.inputs) do
      local label = input.label or label_of(input.name)
      local meaning = input.meaning or input.note or ""
      rows[i] = {label, values.both(input.value, input.unit, 6, 4), limits_text(input),
        input.set and "this run" or "recipe", meaning ~= label and meaning or ""}
    end
    add {kind = "heading", level = 2, text = "Inputs"}
    add {kind = "table", columns = {{title = "input"}, {title = "value", align = "right"},
      {title = "limits"}, {title = "set by"}, {title = "meaning"}}, rows = rows}
  end
  if #(model.items or {}) == 0 then
    add {kind = "paragraph", text = "The recipe states no results."}
  elseif model.items[1].kind ~= "section" then
    add {kind = "heading", level = 2, text = "Results"}
  end
  body(model, blocks)
  if #(model.taken or {}) > 0 then
    local rows = {}
    for i, taken in ipairs(model.taken) do
      rows[i] = {tostring(taken.result), tostring(taken.recipe), values.both(taken.value),
        taken.stale and "STALE: changed since it was recorded" or "current"}
    end
    add {kind = "heading", level = 2, text = "Taken from other recipes"}
    add {kind = "table", columns = {{title = "result"}, {title = "recipe"},
      {title = "value", align = "right"}, {title = "state"}}, rows = rows}
  end
  if #(model.warnings or {}) > 0 then
    local items = {}
    for i, warning in ipairs(model.warnings) do
      local place = warning.place and tostring(warning.place):gsub(":%s*$", "") or ""
      items[i] = (place ~= "" and place .. ": " or "") .. tostring(warning.message)
    end
    add {kind = "heading", level = 2, text = "Warnings"}
    add {kind = "steps", items = items}
  end
  add {kind = "heading", level = 2, text = "Sign-off"}
  add {kind = "signoff", labels = {"Made by", "Checked by"}}
  local engine = model.engine or {}
  local budget = model.budget or {}
  local foot = {{"Recipe file", recipe.file or "none"}, {"Recipe digest", recipe.digest or "none"}}
  if model.shop then
    foot[#foot + 1] = {"Shop data", tostring(model.shop.file or "")}
    foot[#foot + 1] = {"Shop data digest", tostring(model.shop.digest or "")}
  end
  foot[#foot + 1] = {"Engine", string.format("fettle %s, results revision %s",
    tostring(engine.version or host.version.version),
    tostring(engine.results_revision or host.version.results_revision))}
  local effort = budget.effort and "effort " .. values.text(budget.effort) .. "; " or ""
  foot[#foot + 1] = {"Budget", effort .. (budget.time_limited
    and "LIMITED BY TIME: another run may give other numbers" or "not limited by time")}
  add {kind = "heading", level = 2, text = "About this sheet"}
  add {kind = "fields", rows = foot}
  return blocks
end

return document
