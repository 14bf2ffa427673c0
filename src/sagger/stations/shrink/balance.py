"""Whether oversize factors and densities agree: what is printed holds as much powder as what comes out."""

from __future__ import annotations

import numpy as np

from sagger.goods.factors import Factors
from sagger.goods.finding import Against, Finding, loss, ok, risk
from sagger.statistics import chance

LOOK, REFUSED = 2.0, 3.0  # standard uncertainties; common practice, no source
SOURCE = "balance of mass"


def balance(factors: Factors) -> Finding:
    """What factors make of the green density they were measured with, against the density reached.

    Parameters
    ----------
    factors : Factors
        With conditions.

    Returns
    -------
    Finding
        `loss` where no body can be so: above full density, below green, or off by more than three standard
        uncertainties; `risk` from two on.

    Source
    ------
    Conservation of mass: the product of the factors is green over finished volume, so finished over green
    density. Doubts of factors, green density and density reached are independent (JCGM 100:2008, 5.1.2).
    """
    of = factors.conditions
    if of is None:
        raise ValueError("factors without conditions have no balance")
    product = float(np.prod(factors.k))
    implied = of.green_density * product
    u_k = chance.combined(list(factors.u / factors.k))
    implied_u = implied * chance.combined((u_k, of.green_density_u / of.green_density))
    apart, u = implied - of.density, chance.combined((implied_u, of.density_u))
    text = (
        f"Factors {' x '.join(f'{k:.4f}' for k in factors.k)} = {product:.4f} times a green density of "
        f"{of.green_density:.1%} make {implied:.1%} of full density (u {implied_u:.1%}); "
        f"reached were {of.density:.1%} (u {of.density_u:.1%}), under {of.basis}"
    )
    against = Against(implied, of.density, "-", SOURCE)
    remedy = "Measure again: lengths, green density, density reached. A factor is green over finished length."
    wrong = _impossible(product, implied, implied_u)
    if wrong or abs(apart) > REFUSED * u:
        why = wrong or f"{abs(apart) / u:.1f} standard uncertainties apart, more than the doubts explain"
        return loss(SOURCE, f"{text}: {why}.", against, remedy)
    if abs(apart) > LOOK * u:
        return risk(SOURCE, f"{text}: {abs(apart) / u:.1f} standard uncertainties apart.", against, remedy)
    return ok(SOURCE, f"{text}: they agree.", against)


def _impossible(product: float, implied: float, u: float) -> str:
    """Why no body can be so, or nothing."""
    if product <= 1:
        return "below the green density, so the body would have grown"
    return "above full density" if implied - 1 > REFUSED * u else ""
