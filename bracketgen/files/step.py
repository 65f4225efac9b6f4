"""The folded part as a STEP file: ISO 10303-21 text, AP214 (automotive design), one solid with exact faces."""

from __future__ import annotations

from collections.abc import Iterable

from bracketgen.drawing.solid.skin import Face, Plane, Rim, Skin
from bracketgen.errors import WriteFault
from bracketgen.geometry.space import Vector

#: Two points of the solid nearer than this are one, for the program that reads it.
_UNCERTAINTY_MM = "1.E-06"


class _Lines:
    """Numbered instances; the same text is written once."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self._known: dict[str, str] = {}

    def add(self, text: str) -> str:
        if text not in self._known:
            self._known[text] = f"#{len(self.lines) + 1}"
            self.lines.append(f"#{len(self.lines) + 1}={text};")
        return self._known[text]

    def point(self, v: Vector) -> str:
        return self.add(f"CARTESIAN_POINT('',({_numbers(v)}))")

    def direction(self, v: Vector) -> str:
        return self.add(f"DIRECTION('',({_numbers(v)}))")

    def placement(self, origin: Vector, z: Vector, x: Vector) -> str:
        parts = (self.point(origin), self.direction(z), self.direction(x))
        return self.add(f"AXIS2_PLACEMENT_3D('',{','.join(parts)})")


def _number(value: float) -> str:
    """A real as the standard wants it: always with a point."""
    text = f"{value:.12f}".rstrip("0")
    return "0." if text in ("-0.", "0.") else text


def _numbers(values: Iterable[float]) -> str:
    return ",".join(_number(v) for v in values)


def step_bytes(skin: Skin, name: str, title: str, cautions: Iterable[str] = ()) -> bytes:
    """The skin as one solid named `title`, described by its cautions. Raises WriteFault when it is not closed."""
    loose = skin.open_rims()
    if loose:
        at = skin.corners[skin.rims[loose[0]].start]
        raise WriteFault(f"{name}.step was not written: the skin is open at ({at[0]:.2f}, {at[1]:.2f}, {at[2]:.2f}) mm")
    lines = _Lines()
    corners = [lines.add(f"VERTEX_POINT('',{lines.point(c)})") for c in skin.corners]
    rims = [_rim(lines, rim, skin, corners) for rim in skin.rims]
    faces = [_face(lines, face, rims) for face in skin.faces]
    shell = lines.add(f"CLOSED_SHELL('',({','.join(faces)}))")
    solid = lines.add(f"MANIFOLD_SOLID_BREP({_text(title)},{shell})")
    _product(lines, solid, (name, title, " ".join(cautions)))
    return _file(lines, name).encode("ascii")


def _text(words: str) -> str:
    r"""A string as the standard wants it: quotes doubled, other letters than ASCII as \X2\ code points."""
    plain = words.replace("\\", "\\\\").replace("'", "''")
    return "'" + "".join(c if 32 <= ord(c) < 127 else f"\\X2\\{ord(c):04X}\\X0\\" for c in plain) + "'"


def _rim(lines: _Lines, rim: Rim, skin: Skin, corners: list[str]) -> str:
    a, b = skin.corners[rim.start], skin.corners[rim.end]
    if rim.centre is None or rim.axis is None:
        d = tuple(q - p for p, q in zip(a, b, strict=True))
        size = sum(c * c for c in d) ** 0.5
        direction = lines.direction((d[0] / size, d[1] / size, d[2] / size))
        curve = lines.add(f"LINE('',{lines.point(a)},{lines.add(f'VECTOR({chr(39) * 2},{direction},1.)')})")
    else:
        out = tuple((p - c) / rim.radius for p, c in zip(a, rim.centre, strict=True))
        place = lines.placement(rim.centre, rim.axis, (out[0], out[1], out[2]))
        curve = lines.add(f"CIRCLE('',{place},{_number(rim.radius)})")
    return lines.add(f"EDGE_CURVE('',{corners[rim.start]},{corners[rim.end]},{curve},.T.)")


def _face(lines: _Lines, face: Face, rims: list[str]) -> str:
    bounds = []
    for n, loop in enumerate(face.loops):
        oriented = [lines.add(f"ORIENTED_EDGE('',*,*,{rims[i]},{'.T.' if way > 0 else '.F.'})") for i, way in loop]
        chain = lines.add(f"EDGE_LOOP('',({','.join(oriented)}))")
        kind = "FACE_OUTER_BOUND" if n == 0 else "FACE_BOUND"
        bounds.append(lines.add(f"{kind}('',{chain},.T.)"))
    s = face.surface
    if isinstance(s, Plane):
        surface, sense = lines.add(f"PLANE('',{lines.placement(s.origin, s.normal, s.along)})"), ".T."
    else:
        place = lines.placement(s.origin, s.axis, s.along)
        surface = lines.add(f"CYLINDRICAL_SURFACE('',{place},{_number(s.radius)})")
        sense = ".F." if s.hollow else ".T."
    return lines.add(f"ADVANCED_FACE('',({','.join(bounds)}),{surface},{sense})")


def _product(lines: _Lines, solid: str, told: Iterable[str]) -> None:
    """The frame that every AP214 file needs around its solid: units, context, product (id, name, description)."""
    mm = lines.add("(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))")
    rad = lines.add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))")
    sr = lines.add("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())")
    fine = lines.add(f"UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE({_UNCERTAINTY_MM}),{mm},'distance_accuracy','')")
    space = lines.add(
        f"(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT(({fine}))"
        f"GLOBAL_UNIT_ASSIGNED_CONTEXT(({mm},{rad},{sr}))REPRESENTATION_CONTEXT('',''))"
    )
    origin = lines.placement((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
    shape = lines.add(f"ADVANCED_BREP_SHAPE_REPRESENTATION('',({origin},{solid}),{space})")
    context = lines.add("APPLICATION_CONTEXT('core data for automotive mechanical design processes')")
    lines.add(f"APPLICATION_PROTOCOL_DEFINITION('international standard','automotive_design',2000,{context})")
    mechanical = lines.add(f"PRODUCT_CONTEXT('',{context},'mechanical')")
    product = lines.add(f"PRODUCT({','.join(map(_text, told))},({mechanical}))")
    lines.add(f"PRODUCT_RELATED_PRODUCT_CATEGORY('part',$,({product}))")
    formation = lines.add(f"PRODUCT_DEFINITION_FORMATION('','',{product})")
    design = lines.add(f"PRODUCT_DEFINITION_CONTEXT('part definition',{context},'design')")
    definition = lines.add(f"PRODUCT_DEFINITION('design','',{formation},{design})")
    meant = lines.add(f"PRODUCT_DEFINITION_SHAPE('','',{definition})")
    lines.add(f"SHAPE_DEFINITION_REPRESENTATION({meant},{shape})")


def _file(lines: _Lines, name: str) -> str:
    """Header and data. The header's time is fixed: the same part gives the same bytes."""
    head = (
        "ISO-10303-21;\nHEADER;\n"
        "FILE_DESCRIPTION(('folded sheet-metal part'),'2;1');\n"
        f"FILE_NAME({_text(name + '.step')},'1970-01-01T00:00:00',(''),(''),'bracketgen','bracketgen','');\n"
        "FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }'));\nENDSEC;\nDATA;\n"
    )
    return head + "\n".join(lines.lines) + "\nENDSEC;\nEND-ISO-10303-21;\n"
