-- Tables that can be read and not changed: shop data in a recipe. Reading a guess with a spread is
-- noted, since the results that depend on it get a band.

return function(host, names)
  local type, setmetatable = type, setmetatable
  local format = string.format
  local fail = host.fail

  local function unchangeable()
    fail("shop data is read only: copy the value into a local of your own")
  end

  -- `shop` is {data =, origins =}; `file` is what guesses are noted under.
  return function(shop, file)
    local origins, made = shop.origins, {}
    local wrap

    local function read(contents, path, depth, key)
      local value = contents[key]
      local inner = (path == "" and "" or path .. "/") .. host.text(key)
      local origin = origins[inner]
      if origin and origin.standing == "guessed" and origin.low ~= nil then
        host.note_guess(file, inner)
      end
      if type(value) == "table" then
        return wrap(value, inner, depth + 1)
      elseif value == nil and type(key) == "string" and depth < 2 then
        -- Sections and the things in them have names that a recipe can get wrong; a field of a
        -- thing may be left out.
        local near = host.nearest(contents, key)
        fail(format("shop data has no %s: %s", inner,
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

    return wrap(shop.data, "", 0)
  end
end
