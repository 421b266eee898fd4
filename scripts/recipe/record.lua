-- Recorded results: writing them as YAML, and comparing a run with them. Runs in the trusted state;
-- `host.exact(value)` writes a value with all its digits, `host.read(text, like)` reads the SI number
-- of it, or nil when it is no value of that dimension.

return function(host)
  local type, ipairs, pairs = type, ipairs, pairs
  local format, match, gsub = string.format, string.match, string.gsub
  local sort, concat = table.sort, table.concat
  local record = {}

  -- Wide enough for another processor's mathematics library, narrow enough for everything else.
  local preset_tolerance = "1e-6 %"

  local function quoted(text)
    return '"' .. gsub(text, '[\\"]', "\\%0") .. '"'
  end

  local function outcome(check)
    return check.pass and "pass" or check.level == "warn" and "warn" or "stop"
  end

  local function sorted_names(t)
    local names = {}
    for name in pairs(t) do
      names[#names + 1] = name
    end
    sort(names)
    return names
  end

  -- The record of `model` as text; `old` (or nil) is the record that it replaces.
  function record.text(model, old)
    local kept = old and old.results or {}
    local lines = {
      "# Written by fettle verify --record. A tolerance may be edited: it is kept.",
      "schema: 1",
      "recipe: " .. quoted(model.recipe.digest),
    }
    local function put(...)
      lines[#lines + 1] = format(...)
    end
    if model.shop then
      put("shop: %s", quoted(model.shop.digest))
    end
    put("results_revision: %d", model.engine.results_revision)
    put("results:%s", "")
    local any = false
    for _, item in ipairs(model.items) do
      if item.kind == "result" then
        local before = kept[item.name]
        put("  %s:", item.name)
        put("    value: %s", quoted(host.exact(item.value)))
        put("    tolerance: %s", quoted(before and before.tolerance or preset_tolerance))
        any = true
      end
    end
    if not any then
      lines[#lines] = "results: {}"
    end
    local heading = "checks:"
    for _, item in ipairs(model.items) do
      if item.kind == "check" then
        if heading then
          put("%s", heading)
          heading = nil
        end
        put("  %s: %s", item.name, outcome(item))
      end
    end
    local taken = {}
    for _, one in ipairs(model.taken) do
      taken[one.recipe] = taken[one.recipe] or {}
      taken[one.recipe][one.result] = host.exact(one.value)
    end
    heading = "taken:"
    for _, recipe in ipairs(sorted_names(taken)) do
      if heading then
        put("%s", heading)
        heading = nil
      end
      put("  %s:", quoted(recipe))
      for _, name in ipairs(sorted_names(taken[recipe])) do
        put("    %s: %s", name, quoted(taken[recipe][name]))
      end
    end
    return concat(lines, "\n") .. "\n"
  end

  local function differs(now, old_text, tolerance_text)
    local old = host.read(old_text, now)
    if old == nil then
      return true -- another dimension
    end
    local tolerance
    if match(tolerance_text, "%%%s*$") then
      local share = host.read(tolerance_text, 1)
      if type(share) ~= "number" then
        error(format("tolerance %s cannot be read", tolerance_text), 0)
      end
      tolerance = host.magnitude(old) * share
    else
      tolerance = host.magnitude(host.read(tolerance_text, now, true)
        or error(format("tolerance %s cannot be read", tolerance_text), 0))
    end
    return host.distance(now, old) > tolerance
  end

  -- What differs between `model` and `old` (nil: nothing was recorded), in the order of the recipe.
  function record.changes(model, old)
    old = old or {}
    local results, checks, taken = old.results or {}, old.checks or {}, old.taken or {}
    local changes, recorded, seen = {}, 0, {}
    local function change(kind, name, what, before, now, tolerance)
      changes[#changes + 1] =
        {kind = kind, name = name, what = what, old = before, new = now, tolerance = tolerance}
    end
    for _, item in ipairs(model.items) do
      if item.kind == "result" then
        local before, now = results[item.name], host.shown(item.value)
        seen["result " .. item.name] = true
        if not before then
          change("result", item.name, "new", nil, now)
        else
          if type(before) ~= "table" or type(before.value) ~= "string" then
            error(format("result %s has no value", item.name), 0)
          end
          local tolerance = before.tolerance or preset_tolerance
          if differs(item.value, before.value, tolerance) then
            change("result", item.name, "changed", before.value, host.exact(item.value), tolerance)
          end
        end
      elseif item.kind == "check" then
        local before, now = checks[item.name], outcome(item)
        seen["check " .. item.name] = true
        if not before then
          change("check", item.name, "new", nil, now)
        elseif before ~= now then
          change("check", item.name, "changed", before, now)
        end
      end
    end
    for _, one in ipairs(model.taken) do
      local name = one.recipe .. ": " .. one.result
      local before = taken[one.recipe] and taken[one.recipe][one.result]
      if not seen["taken " .. name] then
        seen["taken " .. name] = true
        if not before then
          change("taken", name, "new", nil, host.shown(one.value))
        elseif differs(one.value, before, preset_tolerance) then
          change("taken", name, "changed", before, host.exact(one.value), preset_tolerance)
        end
      end
    end
    for _, name in ipairs(sorted_names(results)) do
      recorded = recorded + 1
      if not seen["result " .. name] then
        change("result", name, "missing", results[name].value, nil)
      end
    end
    for _, name in ipairs(sorted_names(checks)) do
      if not seen["check " .. name] then
        change("check", name, "missing", checks[name], nil)
      end
    end
    for _, recipe in ipairs(sorted_names(taken)) do
      for _, name in ipairs(sorted_names(taken[recipe])) do
        if not seen["taken " .. recipe .. ": " .. name] then
          change("taken", recipe .. ": " .. name, "missing", taken[recipe][name], nil)
        end
      end
    end
    return {changes = changes, recorded = recorded}
  end

  return record
end
