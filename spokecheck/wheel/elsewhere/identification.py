"""Surface identification: from the cells of a mesh file to the record of a wheel.

The mesh, in the frame of the wheel, is checked to be one sound body of the stated size
and attitude; its surfaces are named by the groups of the sidecar, by groups of the
file with our names, else by shape.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.spatial import ConvexHull

from spokecheck.errors import DesignError, Fault, MeshError
from spokecheck.fatigue.alloys import alloy
from spokecheck.fem.cyclic import Cyclic
from spokecheck.mesh.files import MeshFile, key
from spokecheck.mesh.quality import bulk
from spokecheck.mesh.record import Mesh, face_keys
from spokecheck.mesh.soundness import make_sound
from spokecheck.mesh.unfold import unfold
from spokecheck.units import MM2_PER_CM2, BoolArray, FloatArray, IntArray
from spokecheck.wheel.build import Wheel, weigh
from spokecheck.wheel.elsewhere.facets import Facets, facets_of
from spokecheck.wheel.elsewhere.surface_search import (
    WALL,
    Search,
    rest_of,
    search_surface,
)
from spokecheck.wheel.meshing.mesh_check import FLAT_CELL, check_mesh
from spokecheck.wheel.origin import IdentifiedSurface, Origin
from spokecheck.wheel.shape.drawing import DISC, RIM, ZONES
from spokecheck.wheel.shape.landmarks import STATIONS, Landmarks
from spokecheck.wheel.shape.rim import FLANGE_HEIGHT
from spokecheck.wheel.shape.surfaces import CUT_HIGH, CUT_LOW, meridian
from spokecheck.wheel.tables.sidecar import Sidecar
from spokecheck.wheel.tables.sizes import parse_rim_size
from spokecheck.wheel.tables.surface_names import SEATS, WELL, WORDS

WHAT = "wheel from elsewhere"

SIZE_OFF = 0.05
"""The largest radius may be this share off that of the rim designation."""

UNITS = {"m": 1000.0, "cm": 10.0, "inch": 25.4, "mm": 1.0}

REMARKED = (0.5, 1.5)
"""A surface identified by shape gets a remark where its share of the expected area is
not between these; own choice.  A round hump leaves 0.57 of the outboard seat."""

AXIS_OFF = 0.3
"""The rim's outline may lie this far off the axle [mm]."""

TILT = 0.5
"""The axle may tilt this much off the stated direction [deg]; a valve hole tilts the
axis of inertia by a tenth of that."""


@dataclass(frozen=True)
class IdentifiedWheel:
    """A mesh file with its sidecar, before its surfaces are named.

    Attributes
    ----------
    source : str
        For messages.
    brief : Sidecar
    file : MeshFile
        In our frame [mm].
    origin : Origin
        Without surfaces.
    solid_volume : float or None
        Of the CAD solid, or of its sector [mm^3], where there was one.
    cyclic : Cyclic
        Sectors, where one of several was meshed.
    """

    source: str
    brief: Sidecar
    file: MeshFile
    origin: Origin
    solid_volume: float | None = None
    cyclic: Cyclic = field(default_factory=Cyclic)


def identify(source: IdentifiedWheel) -> Wheel:
    """Make a wheel of a mesh file by naming its surfaces.

    Parameters
    ----------
    source : IdentifiedWheel
        The file and its sidecar.

    Returns
    -------
    Wheel
        The whole wheel, or a sector where one was cut out.

    Raises
    ------
    DesignError
        With the faults of the body, else those of size and attitude, else those of its
        surfaces, else those of its cells: each group is only checked when the one
        before is in order.
    MeshError
        If a solid was meshed here and the mesh misses a requirement.
    """
    brief = source.brief
    sound = make_sound(source.file)
    if sound.mesh is None:
        raise DesignError(source.source, sound.faults, WHAT)
    faults = _attitude_faults(sound.mesh, brief, source.cyclic.count)
    if faults:
        raise DesignError(source.source, faults, WHAT)
    facets = facets_of(sound.mesh)
    named, identified = _name_surfaces(source, facets, sound.mesh.surfaces)
    mesh = replace(sound.mesh, surfaces=named)
    mesh = replace(mesh, zones=_zones(mesh, brief))
    try:
        unfolded = unfold(mesh, source.cyclic.pairs, FLAT_CELL)
        mesh, quality = unfolded.mesh, unfolded.quality
        cyclic = replace(source.cyclic, pairs=unfolded.pairs)
        proof = check_mesh(mesh, cyclic, quality)
    except MeshError as failure:
        if source.solid_volume is not None:
            raise
        fault = Fault("cells", "", str(failure), "mesh these places again")
        raise DesignError(source.source, [fault], WHAT) from failure
    material = alloy(brief.material.alloy)
    rim = alloy(brief.material.rim_alloy or brief.material.alloy)
    return Wheel(
        brief,
        None,
        _landmarks(mesh, brief),
        replace(
            source.origin,
            surfaces=identified,
            remarks=(*source.origin.remarks, *_area_remarks(identified)),
        ),
        mesh,
        cyclic,
        quality,
        weigh(mesh, cyclic, material, source.solid_volume, {RIM: rim}),
        {seat: _runout(mesh.points[mesh.nodes(seat)]) for seat in SEATS},
        proof,
    )


def _attitude_faults(mesh: Mesh, brief: Sidecar, sectors: int) -> list[Fault]:
    """Faults of unit, direction and centre; each is checked if the one before is right.

    Equal sectors prove direction and centre by themselves.
    """
    expected = parse_rim_size(brief.rim.size).diameter / 2.0 + FLANGE_HEIGHT
    spread = np.ptp(mesh.points, axis=0)
    size = float(np.sort(spread)[1]) / 2.0
    if sectors > 1:
        size = float(meridian(mesh.points)[:, 0].max())
    if abs(size / expected - 1.0) > SIZE_OFF:
        return [_size_fault(size, expected, brief)]
    if sectors > 1:
        return []
    body = bulk(mesh, 1.0)
    # inertia about the centre of mass (parallel axes); the axle has the greatest
    centred = body.inertia - body.mass * (
        body.centre @ body.centre * np.eye(3) - np.outer(body.centre, body.centre)
    )
    _, axes = np.linalg.eigh(centred)
    axle = axes[:, 2] * np.sign(axes[2, 2] or 1.0)
    tilt = float(np.rad2deg(np.arccos(min(abs(axle[2]), 1.0))))
    if tilt > TILT:
        axis = brief.mesh.axes.T @ axle
        return [
            Fault(
                "mesh.direction",
                str(list(brief.mesh.direction)),
                f"lies {tilt:.2g} deg off the axis of greatest inertia, "
                f"{_shown(axis)}; limit {TILT:g} deg",
                "give that axis, or its opposite if it points inboard",
            )
        ]
    return centre_faults(mesh.points[:, :2], brief)


def centre_faults(
    xy: FloatArray, brief: Sidecar, least_round: float = np.inf
) -> list[Fault]:
    """Fault of a centre that is not that of the outermost circle.

    Parameters
    ----------
    xy : ndarray (n, 2)
        Points in our frame, seen along the axle [mm].
    brief : Sidecar
    least_round : float
        No fault is found where the outermost points are less round than this [mm].
    """
    centre = _circle_centre(xy)
    hull = xy[ConvexHull(xy).vertices]
    uneven = float(np.ptp(np.linalg.norm(hull - centre, axis=1)))
    off = float(np.hypot(*centre))
    if off <= AXIS_OFF or uneven > least_round:
        return []
    place = brief.mesh.from_frame(np.array([[*centre, 0.0]]))[0]
    return [
        Fault(
            "mesh.centre",
            str(list(brief.mesh.centre)),
            f"the axle lies {off:.2f} mm off the middle of the outermost circle; "
            f"limit {AXIS_OFF:g} mm",
            f"give a point of the axle, such as {_shown(place)}",
        )
    ]


def _size_fault(size: float, expected: float, brief: Sidecar) -> Fault:
    raw = size / brief.mesh.unit_mm
    near = [f"{unit:g} ({name})" for name, unit in UNITS.items()
            if abs(raw * unit / expected - 1.0) < SIZE_OFF]  # fmt: skip
    remedy = (
        f"give mesh.unit_mm = {near[0]}"
        if near
        else "check rim.size, and that the file holds the whole wheel and nothing else"
    )
    return Fault(
        "mesh.unit_mm",
        f"{brief.mesh.unit_mm:g}",
        f"the largest radius is {size:.4g} mm, that of {brief.rim.size} is "
        f"{expected:.1f} mm",
        remedy,
    )


def _shown(point: FloatArray) -> str:
    return str([round(float(x), 4) + 0.0 for x in point])


def _circle_centre(xy: FloatArray) -> FloatArray:
    """Centre (2,) of the circle through the outermost points, by least squares."""
    # x^2 + y^2 = 2 x cx + 2 y cy + (r^2 - cx^2 - cy^2) is linear in the unknowns
    hull = xy[ConvexHull(xy).vertices]
    rows = np.column_stack([2.0 * hull, np.ones(len(hull))])
    solution, *_ = np.linalg.lstsq(rows, (hull**2).sum(axis=1), rcond=None)
    return np.asarray(solution[:2])


def _name_surfaces(
    source: IdentifiedWheel, facets: Facets, groups: Mapping[str, IntArray]
) -> tuple[dict[str, IntArray], tuple[IdentifiedSurface, ...]]:
    """Named surfaces of the whole boundary, and a record of each that is needed.

    Raises
    ------
    DesignError
        If a surface is missing or far from the size it should have.
    """
    ours = {key(name): name for name in groups}
    faults, identified, named = [], [], {}
    taken = np.zeros(len(facets.area), dtype=bool)
    for cut in [name for name in (CUT_LOW, CUT_HIGH) if name in groups]:
        named[cut] = groups[cut]
        taken |= _members(facets, [groups[cut]])
    for search in search_surface(facets, source.brief):
        asked = source.brief.groups(search.name)
        given = list(asked) or [ours[k] for k in [key(search.name)] if k in ours]
        absent = [name for name in given if name not in groups]
        if absent:
            faults.append(_group_fault(search.name, absent, groups))
            continue
        some = search.facets & ~taken
        how = (
            f"identified by shape, {100.0 * search.least:.0f} to "
            f"{100.0 * search.most:.0f} % of that is taken"
        )
        if given:
            some = _members(facets, [groups[name] for name in given]) & ~taken
            how = f"named in the file: {', '.join(given)}"
        area = float(facets.area[some].sum()) * source.cyclic.count
        fits = search.least < area / search.expected < search.most
        if not some.any() or not (given or fits):
            faults.append(_missing(search, area))
            continue
        taken |= some
        named[search.name] = facets.faces[some]
        identified.append(
            IdentifiedSurface(search.name, area, search.expected, how, bool(given))
        )
    if faults:
        raise DesignError(source.source, faults, WHAT)
    for name in [word for word in WORDS if key(word) in ours]:
        some = _members(facets, [groups[ours[key(name)]]]) & ~taken
        if name not in named and some.any():
            named[name] = facets.faces[some]
            taken |= some
    lowest = float(facets.r[_members(facets, [named[WELL]])].min())
    for name, some in rest_of(facets, source.brief, taken, lowest).items():
        more = [named[name]] if name in named else []
        named[name] = np.concatenate([*more, facets.faces[some]])
    return dict(sorted(named.items())), tuple(identified)


def _area_remarks(surfaces: tuple[IdentifiedSurface, ...]) -> tuple[str, ...]:
    """Remarks on surfaces whose area is far from the one expected."""
    low, high = REMARKED
    return tuple(
        f"{one.name}: {one.area / MM2_PER_CM2:.1f} cm2 identified by shape, "
        f"{one.share:.0%} of the {one.expected / MM2_PER_CM2:.1f} cm2 expected "
        f"({low:.0%} to {high:.0%} pass without a remark): check the rim table, or "
        f'name its group: [surfaces] "{one.name}" = "..."'
        for one in surfaces
        if not one.named and not low <= one.share <= high
    )


def _zones(mesh: Mesh, brief: Sidecar) -> dict[str, IntArray]:
    """Cells of disc and rim: the file's groups of that name, else by radius.

    None unless the rim is of another alloy.
    """
    if brief.material.rim_alloy in (None, brief.material.alloy):
        return {}
    zones = {zone: mesh.zones[zone] for zone in ZONES if zone in mesh.zones}
    count = sum(len(cells) for cells in zones.values())
    if len(zones) == len(ZONES) and count == mesh.n_cells:
        return zones
    well = meridian(mesh.points[mesh.nodes(WELL)])[:, 0].min() - WALL
    is_rim = meridian(mesh.points[mesh.cells[:, :4]].mean(axis=1))[:, 0] > well
    return {DISC: np.flatnonzero(~is_rim), RIM: np.flatnonzero(is_rim)}


def _members(facets: Facets, groups: list[IntArray]) -> BoolArray:
    """Facets that belong to one of the groups of boundary faces."""
    base = int(facets.faces.max()) + 1
    keys = face_keys(np.concatenate(groups), base)
    return np.isin(face_keys(facets.faces, base), keys)


def _group_fault(name: str, absent: list[str], groups: Mapping[str, IntArray]) -> Fault:
    names = ", ".join(sorted(groups)) or "none"
    return Fault(
        f"surfaces.{name}",
        ", ".join(absent),
        f"no such group on the boundary; the file has {names}",
        "name one of these, or leave it out to have the surface identified by shape",
    )


def _missing(search: Search, area: float) -> Fault:
    return Fault(
        search.name,
        f"{area:.0f} mm2 found",
        f"expected {search.expected:.0f} mm2, allowed {search.least:g} to "
        f"{search.most:g} times that; looked for {search.where}",
        "check rim, hub, bolts and mesh tables, and that the wheel is whole, or name "
        f'its group: [surfaces] "{search.name}" = "..."',
    )


def _runout(points: FloatArray) -> float:
    """Largest distance [mm] of a seat's points from the cone that fits them best."""
    meridian_points = meridian(points)
    rows = np.column_stack([np.ones(len(meridian_points)), meridian_points[:, 1]])
    line, *_ = np.linalg.lstsq(rows, meridian_points[:, 0], rcond=None)
    return float(np.abs(meridian_points[:, 0] - rows @ line).max())


def _landmarks(mesh: Mesh, brief: Sidecar) -> Landmarks:
    """Where the disc lies, from the points of its back and face."""
    radius = parse_rim_size(brief.rim.size).diameter / 2.0
    pad = brief.hub.pad_diameter_mm / 2.0
    names = [n for n in mesh.surfaces if n.startswith(("disc", "hub", "spoke"))]
    points = meridian(mesh.points[mesh.nodes(names)])
    outer = float(points[:, 0].max())
    edges = np.linspace(float(points[:, 0].min()), outer + 1e-6, STATIONS + 1)
    slot = np.digitize(points[:, 0], edges) - 1
    depth = [
        (edges[k : k + 2].mean(), *(f(points[slot == k, 1]) for f in (np.min, np.max)))
        for k in range(STATIONS)
        if (slot == k).any()
    ]
    return Landmarks(radius, (min(pad, outer - 1.0), outer), np.array(depth))
