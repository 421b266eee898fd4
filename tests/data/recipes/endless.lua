recipe{name = "endless", part = "none", units = "inch", engine = 1}
while true do end
