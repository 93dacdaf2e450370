"""Small parts that several pages use: fields, segments, icons, the sheet that explains a number."""
