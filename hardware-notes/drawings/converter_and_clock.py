"""Converter and clock chip on the I2C bus, with the coin cell."""


def draw(s):
    """Two chips on one bus."""
    t = s.table
    s.title((-2.4, 4.6), "Converter")
    left = [(4.4, "AIN0"), (3.7, "AIN1"), (3.0, "AIN2"), (2.3, "AIN3"), (1.2, "ADDR"), (0.5, "GND")]
    right = [(4.4, "VDD"), (3.2, "SDA"), (2.2, "SCL"), (0.8, "ALERT")]
    adc = s.chip("U6", (0, -1.6), (2.8, 5.0), left, right, f"  at {t.facts['converter address']}")
    for at in range(4):
        s.net(adc[f"AIN{at}"], f"AIN{at}", "left")
    s.wire(adc["ADDR"], (-1.1, -0.4), (-1.1, -1.1))
    s.wire(adc["GND"], (-1.1, -1.1), (-1.1, -1.3))
    s.dot((-1.1, -1.1))
    s.ground((-1.1, -1.3))
    s.net(adc["VDD"], "3V3F")
    s.words((3.5, adc["ALERT"][1]), "open", size=8.5)

    # The bus.
    s.wire(adc["SDA"], (12.2, 1.6))
    s.wire(adc["SCL"], (12.2, 0.6))
    s.wire((6.6, 3.9), (8.4, 3.9))
    s.rail((6.6, 3.9), "3V3")
    s.part("R25", (6.6, 3.9), (6.6, 1.6), "left")
    s.part("R26", (8.4, 3.9), (8.4, 0.6))
    s.dot((6.6, 3.9), (6.6, 1.6), (8.4, 0.6), (10.0, 1.6), (10.9, 0.6))
    s.wire((10.0, 1.6), (10.0, -1.4), (9.5, -1.4))
    s.wire((10.9, 0.6), (10.9, -2.2), (9.5, -2.2))
    s.net((9.5, -1.4), f"i2c_data ({t.pins['i2c_data']})", "left")
    s.net((9.5, -2.2), f"i2c_clock ({t.pins['i2c_clock']})", "left")

    s.title((12.2, 4.6), "Clock chip")
    left = [(4.2, "VCC"), (3.2, "SDA"), (2.2, "SCL"), (1.2, "NC"), (0.5, "GND")]
    right = [(4.2, "VBAT"), (2.7, "INT"), (1.7, "RST"), (0.8, "32K")]
    clock = s.chip("U7", (12.7, -1.6), (2.8, 5.0), left, right, f"  at {t.facts['clock address']}")
    s.net(clock["VCC"], "3V3", "left")
    s.wire(clock["NC"], (11.8, -0.4), (11.8, -1.1))
    s.wire(clock["GND"], (11.8, -1.1))
    s.dot((11.8, -1.1))
    s.ground((11.8, -1.1))
    s.words((16.2, clock["RST"][1]), "open", size=8.5)
    s.words((16.2, clock["32K"][1]), "open", size=8.5)
    # Coin cell.
    s.wire(clock["VBAT"], (17.4, 2.6), (17.4, 2.3))
    s.stroke((17.0, 2.3), (17.8, 2.3))
    s.stroke((17.2, 2.15), (17.6, 2.15), width=2.4)
    s.contact((17.4, 2.3), "BT1", "plus")
    s.contact((17.4, 2.15), "BT1", "minus")
    s.wire((17.4, 2.15), (17.4, 1.9))
    s.ground((17.4, 1.9))
    s.words((18.0, 2.25), f"{t.place('BT1')}\ncoin cell")
    # Alarm.
    s.wire(clock["INT"], (16.4, 1.1), (16.4, 0.8), (19.6, 0.8))
    s.net((20.4, 0.8), f"clock_alarm ({t.pins['clock_alarm']})")
    s.wire((19.6, 0.8), (20.4, 0.8))
    s.dot((19.8, 0.8))
    s.rail((19.8, 3.4), "3V3")
    s.part("R27", (19.8, 3.4), (19.8, 0.8))
