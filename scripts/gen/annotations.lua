-- Editor annotations (LuaLS): the words, the units, and of each calculation one class of arguments
-- and one function.

local lines = {
  "---@meta",
  "-- What an editor needs to know of a recipe's names. Put this file's folder into the workspace",
  "-- library of the Lua language server.",
  "",
  "---@class quantity",
  "---@operator add(quantity): quantity",
  "---@operator sub(quantity): quantity",
  "---@operator mul(quantity|number): quantity|number",
  "---@operator div(quantity|number): quantity|number",
  "---@operator unm: quantity",
  "---@operator pow(number): quantity|number",
  "---@field to fun(self: quantity, unit: string): quantity the same, shown in another unit",
  "---@field number fun(self: quantity, unit: string): number its number in a unit",
  "---@field fraction fun(self: quantity, denominator: integer): string, quantity text and rounding error",
  "---@field abs fun(self: quantity): quantity",
  "---@field near fun(self: quantity, other: quantity, tolerance: quantity): boolean",
  "---@field text fun(self: quantity, unit?: string, digits?: integer): string",
  "",
  "---@alias value quantity|number",
  "---@alias scalar quantity|number|string|boolean",
  "---@alias text_or_list string|string[]",
  "---@alias list table",
  "",
}
local function add(text, ...)
  lines[#lines + 1] = select("#", ...) > 0 and string.format(text, ...) or text
end

local function type_of(parameter)
  if parameter.choices then
    return "string"
  end
  return (parameter.unit == nil or parameter.unit == "1") and "number" or "quantity"
end

-- A description is one line of an annotation.
local function one_line(text)
  return (text:gsub("%s+", " "))
end

for _, word in ipairs(data.words.tables) do
  add("---@class (exact) %s_fields", word.name)
  for _, field in ipairs(word.fields) do
    add("---@field %s%s %s # %s", field.name, field.optional and "?" or "", field.type, field.meaning)
  end
  add("")
  add("---%s", word.brief)
  add("---@param fields %s_fields", word.name)
  if word.returns then
    add("---@return %s", word.returns)
  end
  add("function %s(fields) end", word.name)
  add("")
end
for _, word in ipairs(data.words.texts) do
  add("---%s", word.brief)
  add("---@param text string")
  if word.returns then
    add("---@return %s", word.returns)
  end
  add("function %s(text) end", word.name)
  add("")
end
for _, word in ipairs(data.words.functions) do
  add("---%s", word.brief)
  add("---@return %s", word.returns)
  add("function %s(%s) end", word.name, word.arguments)
  add("")
end
for _, unit in ipairs(host.units()) do
  if unit.lua_name then
    add("---%s", one_line(unit.meaning or unit.name))
    add("---@type quantity")
    add("%s = nil", unit.lua_name)
    add("")
  end
end

local domains = {}
for _, description in ipairs(host.descriptions()) do
  local domain, name = description.name:match("^([%w_]+)%.([%w_]+)$")
  if not domains[domain] then
    domains[domain] = true
    add("%s = {}", domain)
    add("")
  end
  local class = domain .. "_" .. name
  local lists = description.kind == "lists"
  add("---@class (exact) %s_arguments", class)
  for _, parameter in ipairs(description.inputs) do
    local plain = parameter.unit == nil or parameter.unit == "1"
    add("---@field %s%s %s # %s%s", parameter.name, (lists or parameter.preset ~= nil) and "?" or "",
      lists and plain and "any" or type_of(parameter), one_line(parameter.meaning),
      plain and "" or " (" .. parameter.unit .. ")")
  end
  add("")
  add("---%s", one_line(description.brief))
  add("---@param arguments %s_arguments", class)
  if lists then
    add("---@return table")
  else
    if #description.outputs == 1 then
      add("---@return %s %s # %s", type_of(description.outputs[1]), description.outputs[1].name,
        one_line(description.outputs[1].meaning))
      add("---@return table working")
    else
      add("---@return table outputs")
    end
  end
  add("function %s.%s(arguments) end", domain, name)
  add("")
end
return table.concat(lines, "\n")
