-- The manual: the prose of scripts/manual/, the words, the schema of shop data, the units, and every
-- calculation from its descriptor.

local show = require "show"

local lines = {}
local function add(text, ...)
  lines[#lines + 1] = select("#", ...) > 0 and string.format(text, ...) or text
end

local function cell(text)
  return (tostring(text):gsub("|", "\\|"):gsub("%s+", " "))
end

local function prose(name)
  add((files[name]:gsub("%s+$", "")))
  add("")
end

local function words()
  for _, word in ipairs(data.words.tables) do
    add("### %s", word.name)
    add("")
    add("%s.", word.brief)
    add("")
    add("| field | what | |")
    add("|---|---|---|")
    for _, field in ipairs(word.fields) do
      add("| `%s` | %s | %s |", field.name, cell(field.meaning), field.optional and "" or "needed")
    end
    add("")
  end
  add("### Words that take one text, and functions")
  add("")
  add("| word | what |")
  add("|---|---|")
  for _, word in ipairs(data.words.texts) do
    add("| `%s \"...\"` | %s |", word.name, cell(word.brief))
  end
  for _, word in ipairs(data.words.functions) do
    add("| `%s(%s)` | %s |", word.name, word.arguments, cell(word.brief))
  end
  add("")
end

local function kind_of(field)
  if field.choices then
    return table.concat(field.choices, ", ")
  end
  if field.unit and field.unit ~= "1" and field.unit ~= "%" then
    return field.inch_unit and field.unit .. " or " .. field.inch_unit or field.unit
  end
  return field.unit == "%" and "%" or field.unit == "1" and "number" or field.type
end

local function limits_of(field)
  if not field.low or field.low == field.high then
    return ""
  end
  return string.format("%.14g to %.14g", field.low, field.high)
end

local function fields(list, indent)
  for _, field in ipairs(list) do
    add("| %s`%s`%s | %s | %s | %s |", indent, field.name, field.required and " (needed)" or "",
      cell(kind_of(field)), limits_of(field), cell(field.meaning))
    if field.fields then
      fields(field.fields, indent .. "&nbsp;&nbsp;")
    end
  end
end

local function schema()
  for _, section in ipairs(shop_schema) do
    add("### %s", section.name)
    add("")
    add("%s%s.", section.meaning, section.named and " (entries by name)" or "")
    add("")
    if section.fields then
      add("| field | unit or kind | limits, in the first unit | meaning |")
      add("|---|---|---|---|")
      fields(section.fields, "")
      add("")
    end
  end
end

local function units()
  add("# Units")
  add("")
  add("| unit | in Lua | meaning | dimension |")
  add("|---|---|---|---|")
  for _, unit in ipairs(host.units()) do
    add("| `%s` | %s | %s | %s |", unit.name, unit.lua_name and "`" .. unit.lua_name .. "`" or "",
      cell(unit.meaning or ""), cell(unit.dimension))
  end
  add("")
end

local function calculations()
  add("# Calculations")
  add("")
  for _, description in ipairs(host.descriptions()) do
    add("## %s", description.name)
    add("")
    add("```")
    add((show.entry(description):gsub("%s+$", "")))
    add("```")
    add("")
  end
end

prose "recipe.md"
add("## The words")
add("")
words()
prose "shop-data.md"
add("## The fields")
add("")
schema()
prose "sheets.md"
units()
calculations()
return table.concat(lines, "\n")
