"""From a nameplate to the curve of the panel."""

from __future__ import annotations

from sunpantry.design.nameplates import PanelNameplate
from sunpantry.physics.panel import PanelModel
from sunpantry.physics.panel_fit import fit_panel


def panel_model(panel: PanelNameplate, *, where: str | None = None) -> PanelModel:
    """Fit the single-diode model to a panel's nameplate; quick when asked again.

    Parameters
    ----------
    panel : PanelNameplate
        The label.
    where : str, optional
        Key of the document, for messages; the name of the panel by default.

    Returns
    -------
    PanelModel
        Parameters of one panel.

    Raises
    ------
    PartError
        When the label contradicts itself.
    """
    return fit_panel(
        power_w=panel.power_w,
        voc_v=panel.voc_v,
        isc_a=panel.isc_a,
        vmp_v=panel.vmp_v,
        imp_a=panel.imp_a,
        cells=panel.cells,
        temp_coeff_voc_pct_per_k=panel.temp_coeff_voc_pct_per_k,
        temp_coeff_isc_pct_per_k=panel.temp_coeff_isc_pct_per_k,
        temp_coeff_power_pct_per_k=panel.temp_coeff_power_pct_per_k,
        power_tolerance_pct=panel.power_tolerance_pct,
        name=panel.name if where is None else where,
    )
