"""Volumes above and below the piston, and the three compression ratios.

Lengths in mm, volumes in cm^3 (written cc, as burettes are marked). Every argument may be a number or an array, of any
shapes that broadcast. A volume that divides must be positive: where it is not, the ratio is nan. Shapes of the
chamber itself stand in head_shape.py. Source: geometry; the ratios are definitions.
"""

import numpy as np
import numpy.typing as npt

from scribeline.geometry.broadcast import FloatArray

_MM3_PER_CC = 1000.0


def bore_area_mm2(bore_mm: npt.ArrayLike) -> FloatArray:
    """Return the area of a circle, mm^2: pi/4 B^2. bore_mm : its diameter, mm.

    >>> round(float(bore_area_mm2(47.0)), 6)
    1734.944543
    """
    area: FloatArray = np.pi / 4.0 * _float(bore_mm) ** 2
    return area


def disc_volume_cc(diameter_mm: npt.ArrayLike, height_mm: npt.ArrayLike) -> FloatArray:
    """Return the volume of a flat round disc, cc: pi/4 d^2 h / 1000.

    One formula serves several parts of an engine: the volume the piston sweeps (bore, true stroke), the volume above a
    port edge (bore, depth of the edge), the ring inside a head gasket (its own bore, its tightened thickness), the
    volume of a deck clearance (bore, clearance; minus where the crown stands proud of the deck).

    diameter_mm : diameter, mm; height_mm : height, mm; minus gives a volume to subtract

    >>> round(float(disc_volume_cc(47.0, 42.0)), 6)
    72.867671
    """
    return bore_area_mm2(diameter_mm) * _float(height_mm) / _MM3_PER_CC


def swept_volume_cc(bore_mm: npt.ArrayLike, true_stroke_mm: npt.ArrayLike) -> FloatArray:
    """Return the volume the piston sweeps, cc: pi/4 B^2 s / 1000.

    bore_mm : bore, mm
    true_stroke_mm : travel of the piston, mm (`kinematics.true_stroke_mm`); a little over 2r with a pin offset

    >>> round(float(swept_volume_cc(47.0, 42.0)), 6)
    72.867671
    """
    return disc_volume_cc(bore_mm, true_stroke_mm)


def volume_above_depth_cc(bore_mm: npt.ArrayLike, depth_mm: npt.ArrayLike) -> FloatArray:
    """Return the part of the swept volume above a port edge, cc: pi/4 B^2 d / 1000.

    With the depth of the exhaust roof this and the clearance volume are the trapped volume.

    bore_mm : bore, mm; depth_mm : depth of the edge below the crown's edge at top dead centre, mm

    >>> round(float(volume_above_depth_cc(47.0, 27.0)), 6)
    46.843503
    """
    return disc_volume_cc(bore_mm, depth_mm)


def gasket_volume_cc(gasket_bore_mm: npt.ArrayLike, thickness_mm: npt.ArrayLike) -> FloatArray:
    """Return the volume inside a head gasket, cc.

    gasket_bore_mm : hole of the gasket, mm, usually a little more than the bore; thickness_mm : tightened down, mm

    >>> round(float(gasket_volume_cc(48.0, 0.5)), 6)
    0.904779
    """
    return disc_volume_cc(gasket_bore_mm, thickness_mm)


def deck_volume_cc(bore_mm: npt.ArrayLike, deck_clearance_mm: npt.ArrayLike) -> FloatArray:
    """Return the volume between the crown's edge at top dead centre and the barrel's top face, cc.

    bore_mm : bore, mm; deck_clearance_mm : minus where the crown stands proud, and so is the volume

    >>> round(float(deck_volume_cc(47.0, -0.4)), 6)
    -0.693978
    """
    return disc_volume_cc(bore_mm, deck_clearance_mm)


def dome_volume_cc(base_diameter_mm: npt.ArrayLike, height_mm: npt.ArrayLike) -> FloatArray:
    """Return the volume of a spherical cap, cc: pi/6 h (3/4 D^2 + h^2) / 1000.

    base_diameter_mm : diameter of the base, mm: the bore, for a piston that is domed from edge to edge
    height_mm : height of the cap over its base, mm; minus for a dish, and so is the volume

    >>> round(float(dome_volume_cc(47.0, 4.0)), 6)
    3.503399
    """
    base, height = _float(base_diameter_mm), _float(height_mm)
    return np.pi / 6.0 * height * (0.75 * base**2 + height**2) / _MM3_PER_CC


def clearance_volume_cc(
    chamber_cc: npt.ArrayLike,
    plug_thread_cc: npt.ArrayLike,
    gasket_cc: npt.ArrayLike,
    deck_cc: npt.ArrayLike,
    crown_cc: npt.ArrayLike,
) -> FloatArray:
    """Return the volume left at top dead centre from its parts, cc: chamber - plug + gasket + deck - crown.

    chamber_cc : in the head above its gasket face; plug_thread_cc : what the plug fills of that reading, 0 where it
    was in; gasket_cc, deck_cc : `gasket_volume_cc`, `deck_volume_cc`; crown_cc : what stands above the level of the
    crown's edge (dome, deflector), minus for a dish

    >>> round(float(clearance_volume_cc(9.0, 0.3, 0.9, 0.5, 2.2)), 6)
    7.9
    """
    return _float(chamber_cc) - _float(plug_thread_cc) + _float(gasket_cc) + _float(deck_cc) - _float(crown_cc)


def compression_ratio(swept_cc: npt.ArrayLike, clearance_cc: npt.ArrayLike) -> FloatArray:
    """Return a compression ratio: (V + Vc)/Vc.

    swept_cc : whole swept volume for the geometric ratio, the part above the exhaust roof for the trapped ratio, cc
    clearance_cc : volume left at top dead centre, cc, above 0; otherwise nan

    >>> round(float(compression_ratio(72.8676708, 7.9)), 6)
    10.223756
    """
    clearance = _positive(clearance_cc)
    ratio: FloatArray = (_float(swept_cc) + clearance) / clearance
    return ratio


def clearance_for_ratio_cc(swept_cc: npt.ArrayLike, ratio: npt.ArrayLike) -> FloatArray:
    """Return the clearance volume that gives a compression ratio, cc: V/(ratio - 1); inverse of `compression_ratio`.

    swept_cc : as there, cc; ratio : above 1; otherwise nan

    >>> round(float(clearance_for_ratio_cc(72.8676708, 11.5)), 6)
    6.939778
    """
    volume: FloatArray = _float(swept_cc) / _positive(_float(ratio) - 1.0)
    return volume


def crankcase_compression_ratio(swept_cc: npt.ArrayLike, volume_at_bdc_cc: npt.ArrayLike) -> FloatArray:
    """Return how far the down stroke squeezes the crankcase: (K + V)/K.

    swept_cc : swept volume of the cylinder over this crankcase, cc
    volume_at_bdc_cc : everything under the piston at bottom dead centre, with the transfer passages, cc, above 0;
        otherwise nan

    >>> round(float(crankcase_compression_ratio(72.8676708, 190.0)), 6)
    1.383514
    """
    return compression_ratio(swept_cc, volume_at_bdc_cc)


def crankcase_compression_ratio_from_tdc(swept_cc: npt.ArrayLike, volume_at_tdc_cc: npt.ArrayLike) -> FloatArray:
    """Return the same ratio from the volume under the piston at top dead centre, cc: Kt/(Kt - V).

    swept_cc : swept volume, cc; volume_at_tdc_cc : cc, more than the swept volume; otherwise nan

    >>> round(float(crankcase_compression_ratio_from_tdc(72.8676708, 262.8676708)), 6)
    1.383514
    """
    return compression_ratio(swept_cc, _float(volume_at_tdc_cc) - _float(swept_cc))


def crankcase_estimate_cc(
    chamber_bore_mm: npt.ArrayLike,
    chamber_width_mm: npt.ArrayLike,
    crank_and_rod_cc: npt.ArrayLike,
    passages_cc: npt.ArrayLike,
    under_piston_cc: npt.ArrayLike,
) -> FloatArray:
    """Return the crankcase volume at bottom dead centre by dimensions, cc: pi/4 D^2 b/1000 - m + k + p.

    A rough figure for when nobody has filled the case: the crank chamber as a plain cylinder, less the metal in it.
    Stuffing that is bolted to the case or the flywheels counts as metal.

    chamber_bore_mm, chamber_width_mm : inside of the crank chamber, mm; crank_and_rod_cc : metal inside it, cc
    passages_cc : transfer passages, and intake as far as the reed, disc or skirt, cc
    under_piston_cc : inside the piston and in the barrel below it at bottom dead centre, cc

    >>> round(float(crankcase_estimate_cc(90.0, 40.0, 140.0, 35.0, 30.0)), 3)
    179.469
    """
    chamber = disc_volume_cc(chamber_bore_mm, chamber_width_mm)
    return chamber - _float(crank_and_rod_cc) + _float(passages_cc) + _float(under_piston_cc)


def _float(number: npt.ArrayLike) -> FloatArray:
    return np.asarray(number, dtype=np.float64)


def _positive(number: npt.ArrayLike) -> FloatArray:
    array = _float(number)
    return np.where(array > 0.0, array, np.nan)
