"""Did the crop come up as planned?"""
