recipe{name = "syntax", part = "none", units = "inch", engine = 1}
local x = = 3
