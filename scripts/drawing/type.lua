-- Widths of text, on the safe side: what a plain sans face needs, by class of letter, as a share
-- of its size. Labels are placed by these boxes, so that they meet no other and leave no sheet.

local type_ = {}

local wide = {[string.byte "m"] = 0.95, [string.byte "w"] = 0.85, [string.byte "M"] = 0.9,
  [string.byte "W"] = 1.0, [string.byte "%"] = 0.95, [string.byte "@"] = 1.0}
local narrow = {}
for c in ("iljtfrI.,:;'|!()[] -"):gmatch "." do
  narrow[c:byte()] = 0.42
end

-- The letters of a text, one by one; broken UTF-8 counts byte by byte.
function type_.letters(text)
  local letters = {}
  if utf8.len(text) then
    for _, code in utf8.codes(text) do
      letters[#letters + 1] = code
    end
  else
    for i = 1, #text do
      letters[i] = text:byte(i)
    end
  end
  return letters
end

local function share(code)
  if code >= 0x1100 then
    return (code >= 0x2000 and code < 0x2E80) and 0.8 or 1.1
  elseif code >= 0x300 and code < 0x370 then
    return 0
  end
  return wide[code] or narrow[code] or (code >= 65 and code <= 90 and 0.74) or 0.64
end

function type_.width(text, size)
  local sum = 0
  for _, code in ipairs(type_.letters(text)) do
    sum = sum + share(code)
  end
  return sum * size
end

-- Columns that a text takes on a screen of equal letters: 2 for wide scripts and pictures, 0 for
-- marks that stand on the letter before.
function type_.columns(text)
  local sum = 0
  for _, c in ipairs(type_.letters(text)) do
    if (c >= 0x300 and c < 0x370) or c == 0x200B or c == 0x200D or (c >= 0xFE00 and c <= 0xFE0F)
      or (c >= 0x200E and c <= 0x200F) or (c >= 0x202A and c <= 0x202E) then
      sum = sum + 0
    elseif (c >= 0x1100 and c <= 0x115F) or (c >= 0x2E80 and c <= 0xA4CF)
      or (c >= 0xAC00 and c <= 0xD7A3) or (c >= 0xF900 and c <= 0xFAFF)
      or (c >= 0xFE30 and c <= 0xFE6F) or (c >= 0xFF00 and c <= 0xFF60) or c >= 0x1F300 then
      sum = sum + 2
    else
      sum = sum + 1
    end
  end
  return sum
end

-- The box of a text item of the display list: left, top, right, bottom.
function type_.box(item)
  local width = type_.width(item[4], item[5])
  local x, y, size = item[2], item[3], item[5]
  local left = item.anchor == "middle" and x - width / 2 or item.anchor == "end" and x - width or x
  if item.turn == 90 then -- reads upwards
    return x - size, y - (item.anchor == "middle" and width / 2 or width), x + size * 0.25,
      y + (item.anchor == "middle" and width / 2 or 0)
  end
  return left, y - size * 0.8, left + width, y + size * 0.25
end

return type_
