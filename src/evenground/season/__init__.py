"""What weather did the crop get?"""
