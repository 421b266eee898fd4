recipe{name = "wrong dimension", part = "none", units = "inch", engine = 1}
local h = milling.scallop_height{cutter_diameter = q"1/2 in", stepover = q"30 lb"}
