"""The calculator: cylinders, gas, devices, supply, the live estimate and trip plans. Pure: no words, clock or files."""
