-- Checks what a recipe gives to a word, and copies it so that nothing changes afterwards.

return function(host)
  local type, pairs = type, host.pairs -- in order, and through read-only tables
  local math_type, huge = math.type, math.huge
  local format, match = string.format, string.match
  local concat, sort = table.concat, table.sort
  local is_quantity, nearest, fail = host.is_quantity, host.nearest, host.fail

  local given = {}

  local function is_number(value)
    return type(value) == "number"
  end

  local kinds = {
    text = function(v) return type(v) == "string" end,
    number = is_number,
    whole = function(v) return is_number(v) and math_type(v) == "integer" or is_number(v) and v % 1 == 0 end,
    boolean = function(v) return type(v) == "boolean" end,
    value = function(v) return is_number(v) or is_quantity(v) end,
    ["value or text"] = function(v) return is_number(v) or is_quantity(v) or type(v) == "string" end,
    scalar = function(v)
      return is_number(v) or is_quantity(v) or type(v) == "string" or type(v) == "boolean"
    end,
    list = function(v) return type(v) == "table" end,
    ["text or list"] = function(v) return type(v) == "string" or type(v) == "table" end,
    table = function(v) return type(v) == "table" end,
    ["table or text"] = function(v) return type(v) == "table" or type(v) == "string" end,
  }
  local described = {
    text = "a text", number = "a plain number", whole = "a whole number",
    boolean = "true or false", value = "a quantity or a number",
    ["value or text"] = "a quantity, a number or a text",
    scalar = "a quantity, a number, a text, or true or false",
    list = "a list in braces", table = "a table in braces",
    ["text or list"] = "a text or a list of texts", ["table or text"] = "a table or a text",
  }

  function given.finite(what, value)
    if is_number(value) and (value ~= value or value == huge or value == -huge) then
      fail(what .. " is not a finite number: look for a division by zero")
    end
    return value
  end

  -- Sorted names of a table, for messages.
  function given.names(t)
    local names = {}
    for name in pairs(t) do
      names[#names + 1] = name
    end
    sort(names)
    return concat(names, ", ")
  end

  -- Returns a copy of `t` whose fields are those of `fields` (name -> kind, with a "!" after it when
  -- it must be there). `what` names the word, and gets the name of the thing once that is known.
  function given.fields(what, t, fields)
    if type(t) ~= "table" then
      fail(format("%s takes one table in braces: %s{...}", what, what))
    end
    if type(t.name) == "string" and fields.name then
      what = what .. " " .. t.name
    end
    local copy = {}
    for name in pairs(t) do
      if not fields[name] then
        local near = nearest(fields, name)
        fail(format("%s: there is no field '%s': %s", what, host.text(name),
          near and "the nearest is '" .. near .. "'" or "it has " .. given.names(fields)))
      end
    end
    for name, wanted in pairs(fields) do
      local kind, must = match(wanted, "^([^!]*)(!?)$")
      local value = t[name]
      if value == nil then
        if must == "!" then
          fail(format("%s: %s is missing: give %s", what, name, described[kind]))
        end
      else
        if not kinds[kind](value) then
          fail(format("%s: %s must be %s, not %s", what, name, described[kind],
            host.describe(value)))
        end
        given.finite(what .. ": " .. name, value)
        copy[name] = value
      end
    end
    return copy, what
  end

  function given.name(what, name)
    if not match(name, "^[%a][%w_]*$") then
      fail(format("%s: the name '%s' must be letters, digits and '_', and start with a letter",
        what, name))
    end
    return name
  end

  -- A deep copy of plain data.
  local function plain(what, value, depth)
    local kind = type(value)
    if kind == "table" then
      if depth > 16 then
        fail(what .. " is nested more than 16 deep, or contains itself")
      end
      local copy = {}
      for key, item in host.pairs(value) do
        copy[key] = plain(what, item, depth + 1)
      end
      return copy
    end
    if kind == "string" or kind == "boolean" or is_quantity(value) then
      return value
    end
    if kind == "number" then
      return given.finite(what, value)
    end
    fail(format("%s holds %s: only quantities, numbers, texts, true and false can be written down",
      what, host.describe(value)))
  end
  function given.plain(what, value)
    return plain(what, value, 1)
  end

  -- A quantity or number shown in `unit`; the wrong dimension is an error.
  function given.in_unit(what, value, unit)
    if unit == nil or type(value) == "string" or type(value) == "boolean" then
      return value
    end
    return host.in_unit(what, value, unit)
  end

  return given
end
