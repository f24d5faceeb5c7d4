"""Whether the figures on a panel's label lie on the curve of any solar cell."""

from __future__ import annotations

from sunpantry.errors import PartError
from sunpantry.figures import Given
from sunpantry.match.case import Case
from sunpantry.match.finding import Finding, Said, Severity, rule, worked
from sunpantry.match.sources import LABEL
from sunpantry.parts.curves import panel_model
from sunpantry.phrases import phrase

# Labels round to about a per cent; of the open CEC list one in seventeen is further off.
MOST_OFF_PCT = 2.0
MOST_OFF_PCT_PER_K = 0.02


@rule(
    "panel-label",
    asks="Do the figures on the panel's label belong to one curve?",
    limit="within 2 % of the curve of a solar cell, its power coefficient within 0.02 %/K",
    source=phrase("{label}; single-diode curve of De Soto et al. (2006)", label=LABEL),
    worst=Severity.WORTH_KNOWING,
)
def panel_label(case: Case) -> Said:
    """A label that lies on no curve is met as nearly as can be; the person should know."""
    for panel in dict.fromkeys(array.panel for array in case.system.arrays):
        try:
            model = panel_model(panel)
        except PartError:
            continue
        off_pct, off_pct_per_k = model.label_error_pct, abs(model.power_coeff_error_pct_per_k)
        if off_pct <= MOST_OFF_PCT and off_pct_per_k <= MOST_OFF_PCT_PER_K:
            continue
        words = phrase(
            "The figures on the label of {name} lie on no curve of a solar cell; the nearest is "
            "{off_pct:.1f}% off one of them",
            name=panel.name,
            off_pct=off_pct,
        )
        if off_pct_per_k > MOST_OFF_PCT_PER_K:
            words += phrase(
                ", and {off_pct_per_k:.2f}%/K off the temperature coefficient of the power",
                off_pct_per_k=off_pct_per_k,
            )
        words += phrase(
            ". Read them again; if they stand so, what this panel gives is less certain by as much."
        )
        yield Finding(
            Severity.WORTH_KNOWING,
            words,
            ("panel", panel.name),
            (
                worked(
                    "farthest the curve lies from the label",
                    off_pct,
                    "%",
                    "largest difference in Isc, Vmp, Imp and power of the nearest curve",
                    LABEL,
                    ("Voc", panel.voc_v, "V"),
                    ("Isc", panel.isc_a, "A"),
                    ("Vmp", panel.vmp_v, "V"),
                    ("Imp", panel.imp_a, "A"),
                    ("temperature coefficient off by", off_pct_per_k, "%/K"),
                ),
            ),
            Given("farthest that passes", MOST_OFF_PCT, "%"),
        )


RULES = (panel_label,)
