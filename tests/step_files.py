"""STEP files made for tests: boxes as bodies of one product, or as the products of an assembly."""

from itertools import product

HEAD = (
    "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\nFILE_NAME('made.step','',(''),(''),'','','');\n"
)
SCHEMA = "FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 3 1 1 }'));\nENDSEC;\nDATA;\n"
UNIT = {"mm": "SI_UNIT(.MILLI.,.METRE.)", "m": "SI_UNIT($,.METRE.)"}


class _Lines:
    def __init__(self):
        self.lines = []

    def add(self, text):
        self.lines.append(f"#{len(self.lines) + 1}={text};")
        return f"#{len(self.lines)}"

    def text(self):
        return HEAD + SCHEMA + "\n".join(self.lines) + "\nENDSEC;\nEND-ISO-10303-21;\n"


def _list(items):
    return "(" + ",".join(items) + ")"


def _point(file, at):
    return file.add(f"CARTESIAN_POINT('',({','.join(f'{float(x)}' for x in at)}))")


def _direction(file, along):
    return file.add(f"DIRECTION('',({','.join(f'{float(x)}' for x in along)}))")


def _placement(file, at, along=(0, 0, 1), across=(1, 0, 0)):
    names = (_point(file, at), _direction(file, along), _direction(file, across))
    return file.add(f"AXIS2_PLACEMENT_3D('',{','.join(names)})")


def _box_faces(file, low, size, sides=6):
    corner = {
        bits: [l + b * s for l, b, s in zip(low, bits, size, strict=True)]
        for bits in product((0, 1), repeat=3)
    }
    vertex = {bits: file.add(f"VERTEX_POINT('',{_point(file, at)})") for bits, at in corner.items()}
    edge = {}
    for bits, at in corner.items():
        for axis in range(3):
            if not bits[axis]:
                end = tuple(1 if i == axis else b for i, b in enumerate(bits))
                along = [float(i == axis) for i in range(3)]
                line = file.add(
                    f"LINE('',{_point(file, at)},"
                    f"{file.add(f'VECTOR({chr(39) * 2},{_direction(file, along)},1.)')})"
                )
                edge[bits, end] = file.add(f"EDGE_CURVE('',{vertex[bits]},{vertex[end]},{line},.T.)")
    faces = []
    for axis, side in [(axis, side) for axis in range(3) for side in (0, 1)][:sides]:
        u, v = (axis + 1) % 3, (axis + 2) % 3
        ring = []
        for a, b in ((0, 0), (1, 0), (1, 1), (0, 1)):
            bits = [0, 0, 0]
            bits[axis], bits[u], bits[v] = side, a, b
            ring.append(tuple(bits))
        ring = ring if side else ring[::-1]
        uses = []
        for start, end in zip(ring, ring[1:] + ring[:1], strict=True):
            forth = (start, end) in edge
            name = edge[start, end] if forth else edge[end, start]
            uses.append(file.add(f"ORIENTED_EDGE('',*,*,{name},.{'T' if forth else 'F'}.)"))
        bound = file.add(f"FACE_OUTER_BOUND('',{file.add(f'EDGE_LOOP({chr(39) * 2},{_list(uses)})')},.T.)")
        normal = [0.0, 0.0, 0.0]
        normal[axis] = 1.0 if side else -1.0
        across = [float(i == u) for i in range(3)]
        plane = file.add(f"PLANE('',{_placement(file, corner[ring[0]], normal, across)})")
        faces.append(file.add(f"ADVANCED_FACE('',({bound}),{plane},.T.)"))
    return faces


def _solid(file, name, low, size):
    shell = file.add(f"CLOSED_SHELL('',{_list(_box_faces(file, low, size))})")
    return file.add(f"MANIFOLD_SOLID_BREP('{name}',{shell})")


def _context(file, unit):
    length = file.add(f"(LENGTH_UNIT()NAMED_UNIT(*){UNIT[unit]})")
    angle = file.add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))")
    solid = file.add("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())")
    sure = file.add(f"UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-05),{length},'accuracy','')")
    return file.add(
        "(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT"
        f"(({sure}))GLOBAL_UNIT_ASSIGNED_CONTEXT(({length},{angle},{solid}))REPRESENTATION_CONTEXT('',''))"
    )


def _product(file, application, name, shape):
    context = file.add(f"PRODUCT_CONTEXT('',{application},'mechanical')")
    made = file.add(f"PRODUCT('{name}','{name}','',({context}))")
    formation = file.add(f"PRODUCT_DEFINITION_FORMATION('','',{made})")
    stage = file.add(f"PRODUCT_DEFINITION_CONTEXT('part definition',{application},'design')")
    definition = file.add(f"PRODUCT_DEFINITION('design','',{formation},{stage})")
    of = file.add(f"PRODUCT_DEFINITION_SHAPE('','',{definition})")
    file.add(f"SHAPE_DEFINITION_REPRESENTATION({of},{shape})")
    return definition


def bodies(named, sheet=None, unit="mm"):
    """One product with a box for each (name, low corner, size); `sheet` adds one free face of a box."""
    file = _Lines()
    application = file.add("APPLICATION_CONTEXT('automotive design')")
    context = _context(file, unit)
    origin = _placement(file, (0, 0, 0))
    solids = [_solid(file, *body) for body in named]
    shape = file.add(f"ADVANCED_BREP_SHAPE_REPRESENTATION('',{_list([origin, *solids])},{context})")
    _product(file, application, "made", shape)
    if sheet is not None:
        shell = file.add(f"OPEN_SHELL('',{_list(_box_faces(file, *sheet, sides=1))})")
        model = file.add(f"SHELL_BASED_SURFACE_MODEL('',({shell}))")
        loose = file.add(f"MANIFOLD_SURFACE_SHAPE_REPRESENTATION('',({origin},{model}),{context})")
        file.add(f"SHAPE_REPRESENTATION_RELATIONSHIP('','',{shape},{loose})")
    return file.text()


def assembly(named, unit="mm"):
    """Products for each (name, size, places), each placed as often as it has places."""
    file = _Lines()
    application = file.add("APPLICATION_CONTEXT('automotive design')")
    context = _context(file, unit)
    origin = _placement(file, (0, 0, 0))
    whole_shape = file.add(f"SHAPE_REPRESENTATION('',({origin}),{context})")
    whole = _product(file, application, "whole", whole_shape)
    for name, size, places in named:
        own = _placement(file, (0, 0, 0))
        solid = _solid(file, name, (0, 0, 0), size)
        shape = file.add(f"ADVANCED_BREP_SHAPE_REPRESENTATION('',({own},{solid}),{context})")
        part = _product(file, application, name, shape)
        for number, place in enumerate(places, 1):
            there = _placement(file, place)
            moved = file.add(f"ITEM_DEFINED_TRANSFORMATION('','',{own},{there})")
            tied = file.add(
                f"(REPRESENTATION_RELATIONSHIP('','',{shape},{whole_shape})"
                f"REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION({moved})SHAPE_REPRESENTATION_RELATIONSHIP())"
            )
            use = file.add(
                f"NEXT_ASSEMBLY_USAGE_OCCURRENCE('{name}{number}','{name}:{number}','',{whole},{part},$)"
            )
            of = file.add(f"PRODUCT_DEFINITION_SHAPE('','',{use})")
            file.add(f"CONTEXT_DEPENDENT_SHAPE_REPRESENTATION({tied},{of})")
    return file.text()
