-- Editor annotations (LuaLS) of the catalogue: one class of arguments and one function each.

local lines = { "---@meta", "", "---@class quantity", "---@operator add(quantity): quantity",
  "---@operator sub(quantity): quantity", "---@operator mul(quantity|number): quantity|number",
  "---@operator div(quantity|number): quantity|number", "---@operator unm: quantity",
  "---@operator pow(number): quantity", "" }
local function add(text, ...)
  lines[#lines + 1] = select("#", ...) > 0 and string.format(text, ...) or text
end

local function type_of(parameter)
  return parameter.unit == "1" and "number" or "quantity"
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
  if description.kind == "lists" then
    add("---%s", description.brief)
    add("---@param arguments table")
    add("---@return table")
  else
    add("---@class (exact) %s_arguments", class)
    for _, parameter in ipairs(description.inputs) do
      add("---@field %s%s %s # %s%s", parameter.name, parameter.preset ~= nil and "?" or "",
        type_of(parameter), parameter.meaning,
        parameter.unit == "1" and "" or " (" .. parameter.unit .. ")")
    end
    add("")
    add("---%s", description.brief)
    add("---@param arguments %s_arguments", class)
    if #description.outputs == 1 then
      add("---@return %s %s # %s", type_of(description.outputs[1]), description.outputs[1].name,
        description.outputs[1].meaning)
      add("---@return table working")
    else
      add("---@return table outputs")
    end
  end
  add("function %s.%s(arguments) end", domain, name)
  add("")
end
return table.concat(lines, "\n")
