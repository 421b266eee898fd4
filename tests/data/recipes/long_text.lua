recipe{name = "long text", part = "none", units = "inch", engine = 1}
local text = ("x"):rep(1000000000)
