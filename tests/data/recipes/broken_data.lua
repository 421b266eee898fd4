recipe{name = "broken data", part = "none", units = "inch", engine = 1}
shop_data "broken.yaml"
