-- Words for the bench: mix sheets, cut lists, tables, plots and drawings.

return function(host, given, order)
  local type, ipairs = type, ipairs
  local format = string.format
  local fail = host.fail
  local words = {}

  -- Starts an item of the sheet; returns its fields and what messages call it.
  local function open(word, t, fields)
    order.begun(word)
    fields.name, fields.title, fields.note = "text!", "text", "text"
    local item, what = given.fields(word, t, fields)
    order.declared(word, item.name)
    item.place = host.place()
    return item, what
  end

  local function rows(what, list, fields)
    local copies = {}
    for i, row in ipairs(list) do
      copies[i] = given.fields(format("%s %d", what, i), row, fields)
    end
    if #copies == 0 then
      fail(what .. ": there is none: give a list in braces")
    end
    return copies
  end

  -- `least` is "above" for a size that cannot be 0, "from" for an amount that can.
  local function like(what, value, unit, least)
    if value == nil then
      return
    end
    local one = host.one(what, unit)
    host.like(what, value, one)
    local zero = one - one
    if value < zero or (least == "above" and value == zero) then
      fail(format("%s = %s: must %s 0", what, host.text(value),
        least == "above" and "be above" or "not be below"), "range")
    end
  end

  function words.mix_sheet(t)
    local item, what = open("mix_sheet", t, {
      parts = "list!", pots = "list", scale_step = "value", working = "table",
    })
    item.kind = "mix_sheet"
    like(what .. ": scale_step", item.scale_step, "g", "above")
    item.parts = rows(what .. ": part", item.parts, {
      material = "text!", mass = "value", volume = "value", lot = "text", note = "text",
    })
    for _, part in ipairs(item.parts) do
      if not (part.mass or part.volume) then
        fail(format("%s: %s has neither mass nor volume", what, part.material))
      end
      like(format("%s: mass of %s", what, part.material), part.mass, "g", "from")
      like(format("%s: volume of %s", what, part.material), part.volume, "mL", "from")
    end
    item.pots = item.pots and given.plain(what .. ": pots", item.pots)
    if item.working then
      order.observe(item.working)
      item.working = nil
    end
    order.add(item)
  end

  function words.cut_list(t)
    local item, what = open("cut_list", t, {pieces = "list!", denominator = "whole"})
    item.kind = "cut_list"
    item.pieces = rows(what .. ": piece", item.pieces, {
      name = "text!", length = "value!", width = "value", thickness = "value", count = "whole",
      from = "text", note = "text",
    })
    for _, piece in ipairs(item.pieces) do
      piece.count = piece.count or 1
      if piece.count < 1 then
        fail(format("%s: count of %s must be at least 1", what, piece.name))
      end
      for _, side in ipairs {"length", "width", "thickness"} do
        like(format("%s: %s of %s", what, side, piece.name), piece[side], "mm", "above")
      end
    end
    local d = item.denominator
    if d and not (d == 2 or d == 4 or d == 8 or d == 16 or d == 32 or d == 64 or d == 128) then
      fail(format("%s: denominator = %d: must be 2, 4, 8, 16, 32, 64 or 128", what, d))
    end
    order.add(item)
  end

  function words.tabulate(t)
    local item, what = open("tabulate", t, {columns = "list!", rows = "list!"})
    item.kind = "table"
    item.columns = rows(what .. ": column", item.columns, {
      title = "text!", unit = "text", digits = "whole",
    })
    local copies = {}
    for i, row in ipairs(item.rows) do
      local where = format("%s: row %d", what, i)
      if type(row) ~= "table" then
        fail(where .. " must be a list in braces")
      end
      local copy = {}
      for j, column in ipairs(item.columns) do
        local cell = row[j]
        if cell == nil then
          copy[j] = ""
        else
          cell = given.plain(where, cell)
          if type(cell) == "table" then
            fail(format("%s: %s is a table: a cell holds one value", where, column.title))
          end
          copy[j] = given.in_unit(format("%s: %s", where, column.title), cell, column.unit)
        end
      end
      for key in host.pairs(row) do
        if type(key) ~= "number" or key < 1 or key > #item.columns then
          fail(format("%s: has a cell without a column (%s): there are %d columns", where,
            host.text(key), #item.columns))
        end
      end
      copies[i] = copy
    end
    item.rows = copies
    order.add(item)
  end

  local drawn_most = 1e100 -- spans and squares of what is drawn stay finite

  local function axis(what, t)
    if t == nil then
      fail(what .. " is missing: give {label =, unit =}")
    end
    local a = given.fields(what, t, {label = "text!", unit = "text"})
    if a.unit then
      host.one(what, a.unit)
    end
    return a
  end

  local function on_axis(what, value, a)
    if not (type(value) == "number" or host.is_quantity(value)) then
      fail(format("%s must be a quantity or a number, not %s", what, host.describe(value)))
    end
    given.finite(what, value)
    if a.unit then
      value = given.in_unit(what, value, a.unit)
    elseif type(value) ~= "number" then
      fail(format("%s is %s: give the axis its unit", what, host.text(value)))
    end
    local number = type(value) == "number" and value or value:number(a.unit)
    if number > drawn_most or number < -drawn_most then
      fail(format("%s = %s: is beyond what an axis can show: choose another unit", what,
        host.text(value)), "range")
    end
    return value
  end

  function words.plot(t)
    local item, what = open("plot", t, {x = "table!", y = "table!", lines = "list!", limits = "list"})
    item.kind = "plot"
    item.x, item.y = axis(what .. ": x", item.x), axis(what .. ": y", item.y)
    item.lines = rows(what .. ": line", item.lines, {label = "text", points = "list!"})
    for i, line in ipairs(item.lines) do
      local points = {}
      for j, point in ipairs(line.points) do
        local where = format("%s: line %d: point %d", what, i, j)
        if type(point) ~= "table" then
          fail(where .. " must be {x, y}")
        end
        points[j] = {on_axis(where .. ": x", point[1], item.x), on_axis(where .. ": y", point[2], item.y)}
      end
      if #points == 0 then
        fail(format("%s: line %d has no points", what, i))
      end
      line.points = points
    end
    if item.limits then
      item.limits = rows(what .. ": limit", item.limits, {label = "text", x = "value", y = "value"})
      for i, limit in ipairs(item.limits) do
        if (limit.x == nil) == (limit.y == nil) then
          fail(format("%s: limit %d: give either x or y", what, i))
        end
        limit.x = limit.x and on_axis(format("%s: limit %d", what, i), limit.x, item.x)
        limit.y = limit.y and on_axis(format("%s: limit %d", what, i), limit.y, item.y)
      end
    end
    order.add(item)
  end

  local points_least = {area = 3, line = 2, dimension = 2, circle = 0, text = 0}

  local function coordinate(where, value, one)
    if value == nil then
      fail(where .. " is missing: give a length, or a number in the drawing's unit")
    end
    if host.is_quantity(value) then
      host.like(where, value, one)
    elseif type(value) ~= "number" then
      fail(format("%s must be a length or a number, not %s", where, host.describe(value)))
    end
    given.finite(where, value)
    local number = type(value) == "number" and value or value / one
    if number > drawn_most or number < -drawn_most then
      fail(format("%s = %s: is beyond what can be drawn", where, host.text(value)), "range")
    end
    return value
  end

  local function shape(where, t, one)
    local s = given.fields(where, t, {
      kind = "text!", points = "list", x = "value", y = "value", radius = "value", text = "text",
    })
    local least = points_least[s.kind]
    if not least then
      fail(format("%s: kind = '%s': must be area, line, dimension, circle or text", where, s.kind))
    end
    local points = {}
    for i, point in ipairs(s.points or {}) do
      local at = format("%s: point %d", where, i)
      if type(point) ~= "table" then
        fail(at .. " must be {x, y}")
      end
      points[i] = {
        coordinate(at .. ": x", point[1], one), coordinate(at .. ": y", point[2], one),
      }
    end
    if #points < least or (s.kind == "dimension" and #points > 2) then
      fail(format("%s: points: %s %d are needed", where,
        s.kind == "dimension" and "exactly" or "at least", least))
    end
    s.points = #points > 0 and points or nil
    if least == 0 then
      s.x, s.y = coordinate(where .. ": x", s.x, one), coordinate(where .. ": y", s.y, one)
    end
    if s.kind == "circle" then
      local radius = coordinate(where .. ": radius", s.radius, one)
      if (type(radius) == "number" and radius or radius / one) <= 0 then
        fail(format("%s: radius = %s: must be above 0", where, host.text(radius)), "range")
      end
    elseif s.kind == "text" and not s.text then
      fail(where .. ": text is missing")
    end
    return s
  end

  function words.drawing(t)
    local item, what = open("drawing", t, {
      shapes = "list", nest = "table", width = "value", height = "value", unit = "text",
    })
    item.kind = "drawing"
    if (item.shapes == nil) == (item.nest == nil) then
      fail(what .. ": give either shapes or nest (what nesting.sheets returned)")
    end
    if item.nest and type(item.nest.working) == "table" then
      order.observe(item.nest.working)
    end
    if item.shapes then
      local one, shapes = host.one(what, item.unit or "mm"), {}
      host.like(what .. ": unit", one, host.one(what, "mm"))
      for i, given_shape in ipairs(item.shapes) do
        shapes[i] = shape(format("%s: shape %d", what, i), given_shape, one)
      end
      if #shapes == 0 then
        fail(what .. ": shapes: there is none: give a list in braces")
      end
      item.shapes = shapes
      for _, side in ipairs {"width", "height"} do
        item[side] = item[side] and coordinate(format("%s: %s", what, side), item[side], one)
      end
    end
    item.nest = item.nest and given.plain(what .. ": nest", item.nest)
    order.add(item)
  end

  return words
end
