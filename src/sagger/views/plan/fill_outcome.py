"""Furnace, price, date and promise as plan.json shows them."""

from __future__ import annotations

import numpy as np

from sagger.goods.load import Load, Tray, TrayFit
from sagger.goods.quote import Promise, Quote
from sagger.goods.sintered import Place, Proposal, Sintered
from sagger.views.plan.debinding import debinding_out
from sagger.views.plan.fill_asked import all_said, said
from sagger.views.plan.outcome import (
    ChanceOut,
    CurveOut,
    LineOut,
    LoadOut,
    PlaceOut,
    PriceOut,
    PromiseOut,
    ProposalOut,
    QuoteOut,
    ShareOut,
    SinterOut,
    StepOut,
    TrayFitOut,
    TrayOut,
    TrayPieceOut,
)
from sagger.views.plan.segment import segment_out

CURVE_POINTS = 200  # of the furnace run, evenly picked; the peak is said apart


def sinter_out(sintered: Sintered) -> SinterOut:
    """The furnace run and what comes out of it."""
    return SinterOut(
        programme=[segment_out(each) for each in sintered.programme],
        load=_load(sintered.load),
        peak_degC=said(float(np.max(sintered.temperature)), "degC"),
        final_relative_density_percent=said(sintered.final_density, "%"),
        final_relative_density_u_percent=said(sintered.final_density_u, "%"),
        final_grain_um=None if sintered.grain is None else said(float(sintered.grain[-1]), "um"),
        ratio=all_said(sintered.ratio),
        ratio_u=all_said(sintered.ratio_u),
        ratio_u_furnace=all_said(sintered.ratio_u_furnace),
        places=[_place(each) for each in sintered.places],
        run_h=said(sintered.run, "h"),
        curve=_curve(sintered),
        proposal=_proposal(sintered.proposal) if sintered.proposal else None,
        debinding=debinding_out(sintered.debinding) if sintered.debinding else None,
    )


def _place(place: Place) -> PlaceOut:
    return PlaceOut(
        name=place.name,  # type: ignore[arg-type]
        warmer_K=said(place.warmer),
        relative_density_percent=said(place.density, "%"),
        ratio=all_said(place.ratio),
    )


def _proposal(proposal: Proposal) -> ProposalOut:
    return ProposalOut(
        programme=[segment_out(each) for each in proposal.programme],
        run_h=said(proposal.run, "h"),
        relative_density_percent=said(proposal.density, "%"),
        bounds=proposal.bounds,
    )


def quote_out(quote: Quote) -> QuoteOut:
    """Price, date and promise."""
    return QuoteOut(
        currency=quote.currency,
        total=said(quote.total),
        lines=[LineOut(name=each.name, amount=said(each.amount), basis=each.basis) for each in quote.lines],
        yield_percent=said(quote.yield_total, "%"),
        prices=[
            PriceOut(part=each.part, good_pieces=each.good_pieces, price_per_piece=said(each.price_per_piece))
            for each in quote.prices
        ],
        promises=[_promise(each) for each in quote.promises],
        steps=[
            StepOut(name=each.name, duration_h=said(each.hours), starts=each.starts, ends=each.ends)
            for each in quote.steps
        ],
        ready=quote.ready,
    )


def _load(load: Load) -> LoadOut:
    return LoadOut(
        fits=[_fit(each) for each in load.fits],
        trays=load.trays,
        trays_per_run=load.trays_per_run,
        runs=load.runs,
        fill_percent=said(load.fill, "%"),
        each=[_tray(each) for each in load.each],
    )


def _fit(fit: TrayFit) -> TrayFitOut:
    return TrayFitOut(
        part=fit.part,
        quantity=fit.quantity,
        footprint_mm=all_said(fit.footprint, "mm"),
        height_mm=said(fit.height, "mm"),
        mass_kg=said(fit.mass),
        per_tray=fit.per_tray,
        trays=fit.trays,
    )


def _tray(tray: Tray) -> TrayOut:
    pieces = [TrayPieceOut(part=part, pieces=number) for part, number in tray.pieces]
    return TrayOut(run=tray.run, shelves=tray.shelves, mass_kg=said(tray.mass), pieces=pieces)


def _curve(sintered: Sintered) -> CurveOut:
    count = len(sintered.time)
    picked = np.unique(np.linspace(0, count - 1, min(count, CURVE_POINTS)).round().astype(int))
    return CurveOut(
        time_h=all_said(sintered.time[picked], "h"),
        temperature_degC=all_said(sintered.temperature[picked], "degC"),
        relative_density_percent=all_said(sintered.density[picked], "%"),
        burnout_percent=all_said(sintered.burnout[picked], "%"),
    )


def _promise(promise: Promise) -> PromiseOut:
    return PromiseOut(
        part=promise.part,
        dimension=promise.dimension,  # type: ignore[arg-type]
        nominal_mm=said(promise.nominal_mm),
        lower_mm=said(promise.lower_mm),
        upper_mm=said(promise.upper_mm),
        u_mm=said(promise.u_mm),
        chance_percent=said(promise.chance, "%"),
        shares=[ShareOut(name=name, percent=said(part, "%")) for name, part in promise.shares],
        without=[ChanceOut(name=name, chance_percent=said(left, "%")) for name, left in promise.without],
    )
