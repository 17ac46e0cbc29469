"""What came off each strip: loads, weighings and samples to one value per strip."""
