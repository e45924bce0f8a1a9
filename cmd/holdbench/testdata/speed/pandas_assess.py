"""The same job with general-purpose libraries, for the speed table: read a
logger's CSV, compensate the pressure for temperature, lay a line through it,
allow for autocorrelation, draw the page's plots to PDF and PNG, write the
figures as JSON. What a careful engineer would write in an afternoon; it finds
no hold, checks nothing and judges nothing.

usage: pandas_assess.py FILE.csv FROM TO OUT
"""

import json
import sys

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt
import numpy as np
import pandas as pd
from scipy import stats

path, start, end, out = sys.argv[1], float(sys.argv[2]), float(sys.argv[3]), sys.argv[4]
coefficient, u_coefficient = 4.5, 0.3  # bar/K

frame = pd.read_csv(path)
hold = frame[(frame["time [s]"] >= start) & (frame["time [s]"] <= end)]
t = hold["time [s]"].to_numpy()
p = hold["pressure_a [bar]"].to_numpy()
temperature = np.polyval(np.polyfit(t - t[0], hold["temperature [degC]"].to_numpy(), 2), t - t[0])
compensated = p - coefficient * (temperature - temperature[0])

line = stats.linregress(t, compensated)
residuals = compensated - (line.intercept + line.slope * t)
rho = np.corrcoef(residuals[1:], residuals[:-1])[0, 1]
u_noise = line.stderr * np.sqrt(max((1 + rho) / (1 - rho), 1))
u = np.hypot(u_noise, u_coefficient * (temperature[-1] - temperature[0]) / (t[-1] - t[0]))

figure, (above, below) = plt.subplots(2, 1, sharex=True, figsize=(8.3, 11.7))
above.plot(frame["time [s]"], frame["pressure_a [bar]"], label="measured")
above.plot(t, compensated, label="compensated")
above.plot(t, line.intercept + line.slope * t, label="fitted")
above.set_ylabel("pressure [bar]")
above.legend()
below.plot(frame["time [s]"], frame["temperature [degC]"])
below.set_ylabel("temperature [°C]")
below.set_xlabel("time [s]")
figure.savefig(out + ".pdf")
figure.savefig(out + ".png", dpi=200)

with open(out + ".json", "w") as f:
    json.dump({"decay_rate": -60 * line.slope, "u": 60 * u, "rho": rho}, f)
