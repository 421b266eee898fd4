recipe{name = "wrong data", part = "none", units = "inch", engine = 1}
shop_data "wrong.yaml"
