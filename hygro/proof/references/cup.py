"""Steady vapour flow through a specimen in a cup test. Owns ISO 12572 arithmetic (from memory).

The specimen stands between two constant humidities at one temperature; the film resistances on
both faces are in series with it, and with a permeability that depends on humidity the flux is
the integral of the permeability over vapour pressure divided by the thickness.
"""

from __future__ import annotations

from collections.abc import Callable

from scipy.integrate import quad
from scipy.optimize import brentq


def constant_flux(
    *, permeability: float, thickness: float, pressure_drop: float, film: float = 0.0
) -> float:
    """Flux through specimen and films in series. [kg/(m²·s)]

    Parameters
    ----------
    permeability : float
        Vapour permeability. [kg/(m·s·Pa)]
    thickness : float
        Thickness. [m]
    pressure_drop : float
        Vapour pressure difference between the two airs. [Pa]
    film : float
        Sum of both film resistances. [m²·s·Pa/kg]
    """
    return pressure_drop / (thickness / permeability + film)


def varying_flux(
    permeability: Callable[[float], float],
    *,
    thickness: float,
    saturation: float,
    dry: float,
    humid: float,
) -> float:
    """Flux for a permeability δ(φ) between imposed surface humidities. [kg/(m²·s)]

    g = (p_sat/d) ∫ δ(φ) dφ from `dry` to `humid` (Kirchhoff's transform).
    """
    integral, _ = quad(permeability, dry, humid, epsabs=0.0, epsrel=1e-12)
    return saturation * integral / thickness


def varying_profile(
    permeability: Callable[[float], float], share: float, *, dry: float, humid: float
) -> float:
    """Humidity at a share of the thickness from the dry face. [-]

    The Kirchhoff potential is linear in depth, so the humidity is a root of its integral.
    """
    whole, _ = quad(permeability, dry, humid, epsabs=0.0, epsrel=1e-12)

    def miss(humidity: float) -> float:
        part, _ = quad(permeability, dry, humidity, epsabs=0.0, epsrel=1e-12)
        return part - share * whole

    return float(brentq(miss, dry, humid, xtol=1e-13))
