-- Tables that can be read and not changed: shop data in a recipe. Reading a guess is noted, since
-- the results that depend on it get a band.

return function(host, names)
  local type, setmetatable = type, setmetatable
  local format = string.format
  local fail, is_quantity = host.fail, host.is_quantity
  local made = {}
  local wrap, file

  local function unchangeable()
    fail("shop data is read only: copy the value into a local of your own")
  end

  local function read(contents, path, depth, key)
    local value = contents[key]
    local kind = type(value)
    if kind == "table" then
      return wrap(value, path == "" and host.text(key) or path .. "/" .. host.text(key), depth + 1)
    elseif kind == "number" or kind == "userdata" and is_quantity(value) then
      return host.read_guess(value, file, path == "" and host.text(key) or path .. "/" .. host.text(key))
    elseif value == nil and type(key) == "string" and depth < 2 then
      -- Sections and the things in them have names that a recipe can get wrong; a field of a thing
      -- may be left out.
      local near = host.nearest(contents, key)
      fail(format("shop data has no %s%s: %s", path == "" and "" or path .. "/", key,
        near and "the nearest is '" .. near .. "'" or "there is " .. names(contents)),
        "missing data")
    end
    return value
  end

  function wrap(contents, path, depth)
    local proxy = made[contents]
    if not proxy then
      proxy = setmetatable({}, {
        contents = contents,
        __index = function(_, key) return read(contents, path, depth, key) end,
        __newindex = unchangeable,
        __len = function() return #contents end,
        __metatable = false,
      })
      made[contents] = proxy
    end
    return proxy
  end

  return function(contents, name)
    file = name
    return wrap(contents, "", 0)
  end
end
