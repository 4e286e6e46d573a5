"""Constants and columns of the independent model; from `docs/`, written out anew."""

from __future__ import annotations

C_W, C_ICE, C_V, C_AIR = 4180.0, 2100.0, 1860.0, 1006.0
"""Heat capacity of water, ice, vapour, air. [J/(kg·K)]"""
L_V, L_F = 2.5e6, 3.34e5
"""Heat of evaporation at 0 °C, of fusion. [J/kg]"""
R_V, T_REF, ZERO, STANDARD = 461.5, 293.15, 273.15, 101325.0
"""Gas constant of vapour [J/(kg·K)], temperature of curves, 0 °C [K], sea level [Pa]."""
SIGMA, LEWIS = 5.670374e-8, 7e-9
"""Stefan-Boltzmann [W/(m²·K⁴)], vapour over heat transfer in air [kg·K/(J·Pa)]."""
RANGE, DRAIN, FILL, RUN_OFF = 0.2, 600.0, 60.0, 10.0
"""Over which loose water freezes [K]; time in which it drains, a leak fills the room that is left,
rain beyond free saturation leaves the surface (our own, short against the hour) [s]."""
KNOTS, HUMID, COLD, COLD_STEP, WARM = 3000, 1000, 7000, 0.01, 240
"""Intervals over storage, rh and degrees of frost, degrees of frost in one [K], over -60..60 °C."""
# numbers of a material
HEAT, FREE, FULL, LIQUID, LAMBDA, LAMBDA_W, POWER, DRY_MASS = range(8)
# columns of a node
SIZE, OUT, IN, CAP, RAIN, AIR = range(6)
# columns of a link to the next node, and its kinds
KIND, HEAT_R, Z_OUT, Z_IN, RATE, FILM, GREY = range(7)
INSIDE, TOUCH, GAP = range(3)
# columns of the state of a node
T, RH, P, R_HEAT, R_VAPOUR, THETA, MOVES, PS, ICE = range(9)
# columns of the loads of a moment, and numbers that do not change
TO, PO, H_OUT, BETA_OUT, RADIATION, DRIVEN, TI, PI, H_IN, Z_INSIDE, EMITS, DENSITY = range(12)
