"""What devices on site take up, send and lose, and what people make of it."""
