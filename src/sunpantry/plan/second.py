"""What the second source does in a year, in numbers and in words."""

from __future__ import annotations

from sunpantry.design.promise import Backup
from sunpantry.phrases import phrase, phrases
from sunpantry.plan.types import SecondSourceReport
from sunpantry.simulate.proof import Proof, WinterProof
from sunpantry.simulate.second_source import DEFAULT_CARRIED_WH
from sunpantry.sizing.cost import fuel_litres
from sunpantry.sizing.trips import quantile, trips_of


def second_source_report(backup: Backup | None, proof: Proof) -> SecondSourceReport | None:
    """Sum up the second source over all years.

    Parameters
    ----------
    backup : Backup or None
        As in the document; ``None``: there is none.
    proof : Proof
        Of the system with it.
    """
    if backup is None:
        return None
    winters, audit = proof.winter_list, proof.audit
    brought = audit.brought_in_wh
    if backup.transfer:
        sun = 1.0 - brought / audit.served_wh if audit.served_wh > 0.0 else 1.0
    else:
        got = audit.gathered_wh + brought
        sun = audit.gathered_wh / got if got > 0.0 else 1.0
    trips = trips_by_winter(backup, winters)
    return SecondSourceReport(
        kind=backup.kind,
        transfer=backup.transfer,
        brought_in_wh_per_year=brought,
        sun_share=min(max(sun, 0.0), 1.0),
        hours_per_year=sum(one.backup_h for one in winters) / len(winters),
        starts_per_year=sum(one.backup_starts for one in winters) / len(winters),
        fuel_l_per_year=fuel_litres(backup, brought) if backup.kind == "generator" else None,
        trips_half=quantile(trips, 0.5) if trips else None,
        trips_nine_in_ten=quantile(trips, 0.9) if trips else None,
        most_trips=backup.max_per_winter,
        words=_words(backup, proof, trips, sun),
    )


def trips_by_winter(backup: Backup, winters: tuple[WinterProof, ...]) -> tuple[int, ...]:
    """Charged batteries carried out in each winter; empty for another kind of source."""
    if backup.kind != "carried_battery":
        return ()
    carried_wh = backup.carried_wh or DEFAULT_CARRIED_WH
    return trips_of((one.backup_wh for one in winters), carried_wh)


def within_trips(report: SecondSourceReport | None) -> bool:
    """Whether nine winters in ten need no more trips than the document allows."""
    if report is None or report.most_trips is None or report.trips_nine_in_ten is None:
        return True
    return report.trips_nine_in_ten <= report.most_trips


def _words(backup: Backup, proof: Proof, trips: tuple[int, ...], sun: float) -> str:
    kwh = proof.audit.brought_in_wh / 1000.0
    winters = proof.winter_list
    hours = sum(one.backup_h for one in winters) / len(winters)
    worst_h = max(one.backup_h for one in winters)
    if trips:
        most = backup.max_per_winter
        enough = "" if most is None else phrase(" You allow {most}.", most=most)
        return phrase(
            "Half of the winters need at most {batteries} carried out, nine in ten at most "
            "{nine_in_ten}, the worst {worst}.{enough}",
            batteries=_batteries(quantile(trips, 0.5)),
            nine_in_ten=quantile(trips, 0.9),
            worst=max(trips),
            enough=enough,
        )
    if backup.transfer:
        return phrase(
            "The sun serves {sun:.0%} of what is used; the mains serves the rest, about "
            "{kwh:.0f} kWh a year in {hours:.0f} hours. While the mains is there, nothing that "
            "runs from it goes dark.",
            sun=sun,
            kwh=kwh,
            hours=hours,
        )
    if backup.kind == "generator":
        starts = sum(one.backup_starts for one in winters) / len(winters)
        fuel = fuel_litres(backup, proof.audit.brought_in_wh)
        return phrase(
            "The generator is started {starts:.0f} times a year and runs {hours:.0f} hours "
            "({worst_h:.0f} in the worst winter), so long it is heard, and burns about "
            "{fuel:.0f} litres of fuel. The sun gives {sun:.0%} of the energy.",
            starts=starts,
            hours=hours,
            worst_h=worst_h,
            fuel=fuel,
            sun=sun,
        )
    return phrase(
        "The mains charger brings about {kwh:.0f} kWh a year in {hours:.0f} hours "
        "({worst_h:.0f} in the worst winter). The sun gives {sun:.0%} of the energy.",
        kwh=kwh,
        hours=hours,
        worst_h=worst_h,
        sun=sun,
    )


def _batteries(count: int) -> str:
    return phrases("one charged battery", "{count} charged batteries", count=count)


def source_words(kind: str) -> str:
    """A second source in words.

    Parameters
    ----------
    kind : str
        As in the document.
    """
    words = {
        "generator": phrase("generator"),
        "mains": phrase("mains"),
        "carried_battery": phrase("carried battery"),
    }
    return words[kind]
