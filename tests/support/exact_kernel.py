"""An independent exact kernel makes faces and solids of plain numbers. Import only where it is installed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from OCP.BRepAlgoAPI import BRepAlgoAPI_Fuse
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakePolygon,
    BRepBuilderAPI_MakeWire,
    BRepBuilderAPI_Transform,
)
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism, BRepPrimAPI_MakeRevol
from OCP.GC import GC_MakeArcOfCircle
from OCP.gp import gp_Ax1, gp_Dir, gp_Pln, gp_Pnt, gp_Trsf, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.TopAbs import TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS_Face, TopoDS_Shape, TopoDS_Wire

Vertex = Sequence[float]
Vector = tuple[float, float, float]


def wire_of(points: Sequence[Vertex]) -> TopoDS_Wire:
    """A closed wire of true lines and arcs from (x, y, bulge)."""
    maker = BRepBuilderAPI_MakeWire()
    for (ax, ay, bulge), (bx, by, _) in zip(points, [*points[1:], points[0]], strict=True):
        a, b = gp_Pnt(ax, ay, 0), gp_Pnt(bx, by, 0)
        if bulge:
            # The top of the arc stands to the right of the chord, bulge times half of it away.
            top = gp_Pnt((ax + bx) / 2 + bulge * (by - ay) / 2, (ay + by) / 2 - bulge * (bx - ax) / 2, 0)
            maker.Add(BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(a, top, b).Value()).Edge())
        else:
            maker.Add(BRepBuilderAPI_MakeEdge(a, b).Edge())
    assert maker.IsDone()
    return maker.Wire()


def face_of(outline: Sequence[Vertex], holes: Iterable[Sequence[Vertex]]) -> TopoDS_Face:
    """A face in z = 0; the outline anticlockwise, holes clockwise."""
    maker = BRepBuilderAPI_MakeFace(gp_Pln(gp_Pnt(0, 0, 0), gp_Dir(0, 0, 1)), wire_of(outline), True)
    for hole in holes:
        maker.Add(wire_of(hole))
    face = maker.Face()
    assert BRepCheck_Analyzer(face).IsValid()
    return face


def area(face: TopoDS_Face) -> float:
    """Area of a face."""
    found = GProp_GProps()
    BRepGProp.SurfaceProperties_s(face, found)
    return float(found.Mass())


def volume(shape: TopoDS_Shape) -> float:
    """Volume of a solid or of several."""
    found = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, found)
    return float(found.Mass())


def plate(face: TopoDS_Face, thickness: float, frame: Sequence[Sequence[float]]) -> TopoDS_Shape:
    """The face in z = 0 drawn down by the thickness, then put where the 4 x 4 frame says."""
    move = gp_Trsf()
    move.SetValues(*(float(v) for row in frame[:3] for v in row))
    solid = BRepPrimAPI_MakePrism(face, gp_Vec(0, 0, -thickness)).Shape()
    return BRepBuilderAPI_Transform(solid, move, True).Shape()


def sector(corners: Sequence[Vector], at: Vector, axis: Vector, radians: float) -> TopoDS_Shape:
    """The quadrilateral turned about an axis: an exact sector of a hollow cylinder."""
    polygon = BRepBuilderAPI_MakePolygon()
    for p in corners:
        polygon.Add(gp_Pnt(*p))
    polygon.Close()
    face = BRepBuilderAPI_MakeFace(polygon.Wire(), True).Face()
    return BRepPrimAPI_MakeRevol(face, gp_Ax1(gp_Pnt(*at), gp_Dir(*axis)), radians).Shape()


def fused(solids: Sequence[TopoDS_Shape]) -> TopoDS_Shape:
    """All in one."""
    whole = solids[0]
    for solid in solids[1:]:
        join = BRepAlgoAPI_Fuse(whole, solid)
        assert join.IsDone()
        whole = join.Shape()
    return whole


def is_one_valid_solid(shape: TopoDS_Shape) -> bool:
    """Whether it is valid and in one piece."""
    explorer, count = TopExp_Explorer(shape, TopAbs_SOLID), 0
    while explorer.More():
        count += 1
        explorer.Next()
    return count == 1 and bool(BRepCheck_Analyzer(shape).IsValid())
