"""The calculator: gas, cylinders, minutes, devices, place, order of use and trip plans. Pure; no words, clock or files.

Units stand in the names: bar (gauge), °C, litres at 15 °C and 1 atm, L/min, minutes. Text and other units are turned
into these at the door, `assistant.quantity`. What cannot be is refused with an OxygenError whose text can be spoken.
"""
