"""Heat, cure and drying: box, bed, layer. All SI, temperatures in kelvin."""
