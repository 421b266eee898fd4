-- The job sheet: model in, text out.

local document = require "sheet/document"

local sheet = {}

local forms = {
  text = function(model, options)
    return require "sheet/text".write(document.build(model), options)
  end,
  md = function(model)
    return require "sheet/markdown".write(document.build(model))
  end,
  html = function(model)
    return require "sheet/html".write(document.build(model))
  end,
  json = function(model)
    return require "sheet/json".write(model)
  end,
}

-- `form` is text, md, html or json; options = {width = columns of text}.
function sheet.render(model, form, options)
  local write = forms[form]
  if not write then
    error(string.format("sheet: no form '%s': text, md, html or json", tostring(form)), 0)
  end
  return write(model, options or {})
end

-- The text of the sheet and the exit status: 1 when a check of level stop failed, or with `strict`
-- when there is a warning.
function sheet.sheet(model, form, strict)
  local verdict = document.verdict(model)
  return sheet.render(model, form), (verdict == "stop" or (strict and verdict == "warn")) and 1 or 0
end

return sheet
