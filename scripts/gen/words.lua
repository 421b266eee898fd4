-- The words of a recipe, for annotations, luacheck and the manual. A field is {name, type, meaning};
-- a "?" after its type means that it may be left out. `tests/house/words.lua` holds this list to
-- what the words really take.

local function row(text)
  local name, type, meaning = text:match("^([%w_]+): (%S+) +(.*)$")
  local optional = type:sub(-1) == "?"
  return {name = name, type = optional and type:sub(1, -2) or type, optional = optional, meaning = meaning}
end

local function word(name, brief, fields, returns)
  local rows = {}
  for line in (fields or ""):gmatch("[^\n]+") do
    local text = line:match("^%s*(.-)%s*$")
    if text ~= "" then
      rows[#rows + 1] = row(text)
    end
  end
  return {name = name, brief = brief, fields = rows, returns = returns}
end

local tables = {
  word("recipe", "names the recipe; comes first, once", [[
    name: string         what the recipe is called
    part: string?        the part that it makes
    units: string?       "inch" or "metric": the habit of the sheet
    engine: integer?     the version of the recipe language that it is written for
    note: string?        text under the heading
  ]]),
  word("job", "presets of the sheet's head; each is settable, as --set job.date=...", [[
    job: string?         number or name of the job
    operator: string?    who works
    date: string?        as it shall print; never taken from a clock
    temperature: value?  of the shop that day, as degF(64)
    lots: text_or_list?  lot numbers of what is used
    revision: string?    of the drawing
  ]], "table"),
  word("input", "declares what may change from run to run, and returns its value", [[
    name: string         the name for --set
    default: scalar?     value when nothing is set; it fixes the dimension
    low: value?          lowest value allowed
    high: value?         highest value allowed
    choices: list?       the only values allowed
    whole: boolean?      whole numbers only
    unit: string?        unit on the sheet; with no default, it fixes the dimension
    meaning: string?     what it is
    note: string?        what to mind
    label: string?       how the sheet calls it
    kind: string?        "csv" or "calculations": the input is a file
    file: string?        of a kind: path from the recipe's folder
    columns: list?       of a csv: {{name =, unit =, text =, whole =, choices =, optional =}, ...}
  ]], "any"),
  word("from_recipe", "takes a declared result of another recipe, with its working", [[
    recipe: string       path from this recipe's folder
    result: string       name of the result there
  ]], "value"),
  word("calculation", "declares a shop's own calculation, and returns it as a function", [[
    name: string         shop.full_words
    brief: string        one line
    formula: string      "A = b * h", in the symbols of the parameters
    parameters: list     {{name =, symbol =, unit =, meaning =, low =, high =, default =}, ...}
    outputs: list        {{name =, symbol =, unit =, meaning =}, ...}
    notes: string?       where it holds
    source: string?      where it comes from; without one: shop rule
    checks: list?        {{inputs = {...}, outputs = {...}, tolerance = "0.1 %", source =}, ...}
  ]], "function"),
  word("result", "states a result, with its working, and returns it", [[
    name: string         of the result
    value: value?        what a calculation returned; or give formula
    formula: string?     text worked out with the values in `with`
    with: table?         {symbol = value, ...}
    unit: string?        unit on the sheet
    digits: integer?     digits on the sheet
    meaning: string?     what it is
    note: string?        what to mind
    working: any?        the record that a calculation returned, or a text (then give source)
    source: string?      of a formula or of a text working
  ]], "value"),
  word("check", "states whether something is in order, and returns that", [[
    name: string         of the check
    pass: boolean        in order?
    level: string?       "stop" or "warn"; without it stop
    value: scalar?       what was found
    limit: scalar?       what is allowed
    unit: string?        unit of both on the sheet
    meaning: string?     what is checked
    cure: string?        what to do when it fails
  ]], "boolean"),
  word("mix_sheet", "a table for the scale", [[
    name: string         of the table
    title: string?       heading
    note: string?        what to mind
    parts: list          {{material =, mass =, volume =, lot =, note =}, ...}
    pots: list?          masses of each pot
    scale_step: value?   smallest step of the scale
    working: table?      of the calculation behind it: its warnings and cautions count
  ]]),
  word("cut_list", "a list for the saw", [[
    name: string         of the table
    title: string?       heading
    note: string?        what to mind
    pieces: list         {{name =, length =, width =, thickness =, count =, from =, note =}, ...}
    denominator: integer? lengths print as parts of an inch: 16, 32, 64
  ]]),
  word("tabulate", "any other table", [[
    name: string         of the table
    title: string?       heading
    note: string?        what to mind
    columns: list        {{title =, unit =, digits =}, ...}
    rows: list           {{cell, cell, ...}, ...}
  ]]),
  word("plot", "a plot with axes", [[
    name: string         of the plot
    title: string?       heading
    note: string?        what to mind
    x: table             {label =, unit =}
    y: table             {label =, unit =}
    lines: list          {{label =, points = {{x, y}, ...}}, ...}
    limits: list?        {{label =, x = or y =}, ...}
  ]]),
  word("drawing", "a drawing to scale", [[
    name: string         of the drawing
    title: string?       heading
    note: string?        what to mind
    nest: table?         what a nesting calculation returned; or give shapes
    shapes: list?        kinds line, area, dimension (points = {{x, y}, ...}), circle (x, y, radius), text (x, y, text)
    width: value?        of the drawn area
    height: value?       of the drawn area
    unit: string?        of plain numbers in shapes
  ]]),
}

return {
  tables = tables,
  -- Words that take one text.
  texts = {
    {name = "shop_data", brief = "reads the shop's data, a YAML file beside the recipe", returns = "table"},
    {name = "section", brief = "a heading of the sheet"},
    {name = "note", brief = "a text on the sheet"},
    {name = "caution", brief = "the cautions of a kind of work"},
    {name = "q", brief = "a quantity from text: q\"2 1/2 in\"", returns = "quantity"},
  },
  -- Functions of numbers and quantities, and what the language keeps.
  functions = {
    {name = "degF", arguments = "number", brief = "a temperature in degrees Fahrenheit", returns = "quantity"},
    {name = "degC", arguments = "number", brief = "a temperature in degrees Celsius", returns = "quantity"},
    {name = "round_to", arguments = "value, step, way", returns = "value",
     brief = "rounds to a multiple; way: \"up\", \"down\" or \"nearest\""},
    {name = "is_empty", arguments = "t", brief = "is there nothing in the table?", returns = "boolean"},
  },
  kept = {
    "assert", "error", "ipairs", "pairs", "pcall", "print", "select", "tonumber", "tostring", "type",
    "math", "string", "table",
  },
}
