"""Solids put together from a few plain shapes.

Frame: the vehicle's own, in millimetres: (left, front, up). Blender is Z up and its exporter turns that into glTF's
+Y up, so front is Blender's -Y, which becomes glTF's +Z. Every shape may be bevelled; faces keep the material they
were made with.
"""
import math

import bmesh
import bpy
from mathutils import Matrix, Vector

LEFT, RIGHT = Vector((1, 0, 0)), Vector((-1, 0, 0))
FRONT, REAR = Vector((0, 1, 0)), Vector((0, -1, 0))
UP, DOWN = Vector((0, 0, 1)), Vector((0, 0, -1))

# (red, green, blue, metallic, roughness), linear: plain muted colours, no textures
MATERIALS = {
    "steel_zinc": (0.52, 0.53, 0.50, 0.75, 0.42),
    "steel_yellow": (0.55, 0.47, 0.26, 0.7, 0.42),
    "steel_dark": (0.13, 0.13, 0.14, 0.6, 0.5),
    "steel_bare": (0.40, 0.40, 0.41, 0.8, 0.38),
    "cast_alloy": (0.46, 0.47, 0.48, 0.5, 0.55),
    "cast_alloy_dark": (0.34, 0.35, 0.36, 0.5, 0.6),
    "cast_iron": (0.17, 0.17, 0.18, 0.4, 0.7),
    "machined": (0.62, 0.62, 0.63, 0.8, 0.3),
    "frame_paint": (0.075, 0.085, 0.10, 0.1, 0.6),
    "body_paint": (0.42, 0.45, 0.40, 0.0, 0.55),
    "shaft_paint": (0.11, 0.12, 0.13, 0.2, 0.5),
    "skid_paint": (0.22, 0.25, 0.27, 0.3, 0.5),
    "exhaust_steel": (0.33, 0.28, 0.23, 0.6, 0.55),
    "shield_alloy": (0.60, 0.60, 0.58, 0.7, 0.45),
    "rubber": (0.035, 0.035, 0.038, 0.0, 0.85),
    "plastic_black": (0.05, 0.05, 0.055, 0.0, 0.6),
    "plastic_grey": (0.28, 0.29, 0.30, 0.0, 0.6),
    "copper": (0.55, 0.30, 0.18, 0.8, 0.4),
    "gasket": (0.22, 0.26, 0.24, 0.0, 0.8),
    "pump_paint": (0.12, 0.20, 0.26, 0.1, 0.5),
}


def material(name):
    found = bpy.data.materials.get(name)
    if found:
        return found
    red, green, blue, metallic, roughness = MATERIALS[name]
    made = bpy.data.materials.new(name)
    made.use_nodes = True
    made.use_backface_culling = True
    made.diffuse_color = (red, green, blue, 1)
    made.metallic, made.roughness = metallic, roughness
    shader = made.node_tree.nodes["Principled BSDF"]
    shader.inputs["Base Color"].default_value = (red, green, blue, 1)
    shader.inputs["Metallic"].default_value = metallic
    shader.inputs["Roughness"].default_value = roughness
    return made


def to_blender(vector):
    return Vector((vector[0], -vector[1], vector[2]))


def across(axis):
    """Two directions square to an axis; the first lies level where the axis allows it."""
    axis = Vector(axis).normalized()
    first = UP.cross(axis) if abs(axis.z) < 0.95 else FRONT.cross(axis)
    first.normalize()
    return first, axis.cross(first).normalized()


def circle(radius, count=32, centre=(0, 0), start=0.0):
    return [(centre[0] + radius * math.cos(start + 2 * math.pi * i / count),
             centre[1] + radius * math.sin(start + 2 * math.pi * i / count)) for i in range(count)]


def rectangle(width, height, centre=(0, 0), radius=0, steps=3):
    """Outline of a rectangle, with rounded corners where `radius` is given."""
    w, h = width / 2, height / 2
    if not radius:
        return [(centre[0] + x, centre[1] + y) for x, y in ((-w, -h), (w, -h), (w, h), (-w, h))]
    points = []
    for cx, cy, turn in ((w - radius, h - radius, 0), (radius - w, h - radius, 90), (radius - w, radius - h, 180),
                         (w - radius, radius - h, 270)):
        for i in range(steps + 1):
            angle = math.radians(turn + 90 * i / steps)
            points.append((centre[0] + cx + radius * math.cos(angle), centre[1] + cy + radius * math.sin(angle)))
    return points


def belt(first, first_radius, second, second_radius, count=40):
    """Outline of a belt round two circles: a chain case, a lug, a slot."""
    first, second = Vector(first), Vector(second)
    between = second - first
    tilt = math.acos((first_radius - second_radius) / between.length)
    heading = math.atan2(between.y, between.x)
    points = []
    half = count // 2
    for i in range(half + 1):
        angle = heading + tilt + (2 * math.pi - 2 * tilt) * i / half
        points.append((first.x + first_radius * math.cos(angle), first.y + first_radius * math.sin(angle)))
    for i in range(half + 1):
        angle = heading - tilt + 2 * tilt * i / half
        points.append((second.x + second_radius * math.cos(angle), second.y + second_radius * math.sin(angle)))
    return points


def bent(corners, radius, steps=5):
    """A path through corners, each rounded to `radius`."""
    corners = [Vector(c) for c in corners]
    path = [corners[0]]
    for before, corner, after in zip(corners, corners[1:], corners[2:]):
        back, forward = (before - corner).normalized(), (after - corner).normalized()
        opening = back.angle(forward)
        if opening > math.radians(178):
            continue
        reach = min(radius / math.tan(opening / 2), 0.45 * (before - corner).length, 0.45 * (after - corner).length)
        start, end = corner + back * reach, corner + forward * reach
        for i in range(steps + 1):
            t = i / steps
            path.append(start.lerp(corner, t).lerp(corner.lerp(end, t), t))
    return path + [corners[-1]]


class Solid:

    def __init__(self, default_material):
        self.default_material = default_material
        self.used = []
        self.shells = []  # closed skins, kept apart so that each can be drilled cleanly

    # ---- shapes -------------------------------------------------------------------------------------------------

    def extrude(self, outline, origin, across_axis, up_axis, depth, material=None, bevel=0.0, segments=1):
        """A flat outline, its first axis along `across_axis`, pushed along the vector `depth`."""
        made = bmesh.new()
        origin, depth = Vector(origin), Vector(depth)
        across_axis, up_axis = Vector(across_axis).normalized(), Vector(up_axis).normalized()
        near = [origin + across_axis * a + up_axis * b for a, b in outline]
        first = [made.verts.new(to_blender(p)) for p in near]
        second = [made.verts.new(to_blender(p + depth)) for p in near]
        count = len(outline)
        made.faces.new(first)
        made.faces.new(list(reversed(second)))
        for i in range(count):
            made.faces.new((first[i], second[i], second[(i + 1) % count], first[(i + 1) % count]))
        return self._add(made, material, bevel, segments)

    def box(self, centre, size, material=None, bevel=0.0, segments=1):
        origin = Vector(centre) - Vector((0, size[1] / 2, 0))
        return self.extrude(rectangle(size[0], size[2]), origin, LEFT, UP, FRONT * size[1], material, bevel, segments)

    def block(self, low, high, material=None, bevel=0.0, segments=1):
        low, high = Vector(low), Vector(high)
        return self.box((low + high) / 2, high - low, material, bevel, segments)

    def cylinder(self, start, end, radius, material=None, sides=32, bevel=0.0, segments=1):
        start, axis = Vector(start), Vector(end) - Vector(start)
        length = axis.length
        if not bevel:
            return self.lathe([(radius, 0), (radius, length)], start, axis, material, sides)
        return self.lathe([(radius - bevel, 0), (radius, bevel), (radius, length - bevel), (radius - bevel, length)],
                          start, axis, material, sides)

    def lathe(self, profile, origin, axis, material=None, sides=32, closed=False):
        """(radius, height) points turned about `axis` through `origin`; `closed` joins last to first: a ring."""
        made = bmesh.new()
        origin, axis = Vector(origin), Vector(axis).normalized()
        first, second = across(axis)
        rings = []
        for radius, height in profile:
            centre = origin + axis * height
            if radius < 1e-6:
                rings.append([made.verts.new(to_blender(centre))])
                continue
            rings.append([
                made.verts.new(
                    to_blender(centre + (first * math.cos(2 * math.pi * i / sides) +
                                         second * math.sin(2 * math.pi * i / sides)) * radius)) for i in range(sides)
            ])
        pairs = list(zip(rings, rings[1:])) + ([(rings[-1], rings[0])] if closed else [])
        for low, high in pairs:
            _bridge(made, low, high)
        if not closed:
            for ring in (rings[0], rings[-1]):
                if len(ring) > 1:
                    made.faces.new(ring)
        return self._add(made, material)

    def sweep(self, path, radius, material=None, sides=12, hollow=0.0):
        """A round bar, or with `hollow` a pipe of that wall, along a path."""
        outline = circle(radius, sides)
        inner = circle(radius - hollow, sides) if hollow else None
        return self.sweep_outline(path, outline, material, inner)

    def sweep_outline(self, path, outline, material=None, inner=None, level=None):
        made = bmesh.new()
        path = [Vector(p) for p in path]
        heading = (path[1] - path[0]).normalized()
        if level is None:
            side, rise = across(heading)
        else:
            side = Vector(level).cross(heading).normalized()
            rise = heading.cross(side)
        outer_rings, inner_rings = [], []
        for i, point in enumerate(path):
            before = (path[i] - path[i - 1]).normalized() if i else heading
            after = (path[i + 1] - path[i]).normalized() if i + 1 < len(path) else before
            now = (before + after).normalized()
            turn = heading.rotation_difference(now)
            side, rise, heading = turn @ side, turn @ rise, now
            for rings, shape in ((outer_rings, outline), (inner_rings, inner)):
                if shape:
                    rings.append([made.verts.new(to_blender(point + side * a + rise * b)) for a, b in shape])
        for rings in (outer_rings, inner_rings):
            for low, high in zip(rings, rings[1:]):
                _bridge(made, low, high)
        for end in (0, -1):
            if inner:
                _bridge(made, outer_rings[end], inner_rings[end])
            else:
                made.faces.new(outer_rings[end])
        return self._add(made, material)

    def ball(self, centre, radius, material=None, sides=20):
        steps = sides // 2
        profile = [(radius * math.sin(math.pi * i / steps), -radius * math.cos(math.pi * i / steps))
                   for i in range(steps + 1)]
        profile[0], profile[-1] = (0, -radius), (0, radius)
        return self.lathe(profile, centre, UP, material, sides)

    def join(self, other):
        slots = [self._slot(name) for name in other.used]
        for shell in other.shells:
            copy = shell.copy()
            for face in copy.faces:
                face.material_index = slots[face.material_index]
            self.shells.append(copy)
        return self

    def move(self, offset):
        for shell in self.shells:
            bmesh.ops.translate(shell, verts=shell.verts, vec=to_blender(Vector(offset)))
        return self

    def recolour(self, name):
        self.used = [name]
        for shell in self.shells:
            for face in shell.faces:
                face.material_index = 0
        return self

    def cut(self, tool):
        """Takes the shape of another solid out of this one, skin by skin."""
        for knife in tool.shells:
            low, high = _bounds(knife)
            for i, shell in enumerate(self.shells):
                other_low, other_high = _bounds(shell)
                if all(low[k] <= other_high[k] and other_low[k] <= high[k] for k in range(3)):
                    self.shells[i] = _difference(shell, knife)
        return self

    def drill(self, start, end, radius, sides=26):
        return self.cut(Solid(self.default_material).cylinder(start, end, radius, None, sides))

    def is_open(self):
        return any(_open_edges(shell) for shell in self.shells)

    # ---- result -------------------------------------------------------------------------------------------------

    def to_mesh(self, name, origin=(0, 0, 0), smooth_below_degrees=38, weighted=True):
        """A mesh in metres about `origin`, smooth below an angle, flat faces kept flat by their weight."""
        data = bpy.data.meshes.new(name)
        copy = bmesh.new()
        for shell in self.shells:
            _append(copy, shell)
        bmesh.ops.translate(copy, verts=copy.verts, vec=-to_blender(Vector(origin)))
        bmesh.ops.scale(copy, verts=copy.verts, vec=(0.001, 0.001, 0.001))
        bmesh.ops.dissolve_degenerate(copy, edges=copy.edges, dist=1e-6)
        bmesh.ops.triangulate(copy, faces=[f for f in copy.faces if len(f.verts) > 4])
        for face in copy.faces:
            face.smooth = True
        copy.to_mesh(data)
        copy.free()
        for used in self.used:
            data.materials.append(material(used))
        data.use_auto_smooth = True
        data.auto_smooth_angle = math.radians(smooth_below_degrees)
        if not weighted:
            return data
        scratch = bpy.data.objects.new("scratch", data)
        bpy.context.scene.collection.objects.link(scratch)
        modifier = scratch.modifiers.new("weights", "WEIGHTED_NORMAL")
        modifier.keep_sharp = True
        graph = bpy.context.evaluated_depsgraph_get()
        shaped = bpy.data.meshes.new_from_object(scratch.evaluated_get(graph), preserve_all_data_layers=True,
                                                 depsgraph=graph)
        if not len(shaped.polygons):
            raise ValueError(f"{name} came out empty")
        bpy.data.objects.remove(scratch)
        bpy.data.meshes.remove(data)
        shaped.name = name
        return shaped

    # ---- inside -------------------------------------------------------------------------------------------------

    def _slot(self, name):
        if name not in self.used:
            self.used.append(name)
        return self.used.index(name)

    def _add(self, made, name, bevel=0.0, segments=1):
        bmesh.ops.recalc_face_normals(made, faces=made.faces)
        if bevel:
            sharp = [e for e in made.edges if len(e.link_faces) == 2 and e.calc_face_angle(0) > math.radians(32)]
            bmesh.ops.bevel(made, geom=sharp, offset=bevel, offset_type="OFFSET", segments=segments, profile=0.5,
                            affect="EDGES", clamp_overlap=True)
        slot = self._slot(name or self.default_material)
        for face in made.faces:
            face.material_index = slot
        self.shells.append(made)
        return self


def _bridge(made, low, high):
    if len(low) == 1 or len(high) == 1:
        tip, ring = (low[0], high) if len(low) == 1 else (high[0], low)
        for i in range(len(ring)):
            made.faces.new((tip, ring[i], ring[(i + 1) % len(ring)]))
        return
    count = len(low)
    for i in range(count):
        made.faces.new((low[i], low[(i + 1) % count], high[(i + 1) % count], high[i]))


def _open_edges(shell):
    return [e for e in shell.edges if len(e.link_faces) != 2]


def _append(target, source):
    carrier = bpy.data.meshes.new("carrier")
    source.to_mesh(carrier)
    target.from_mesh(carrier)
    bpy.data.meshes.remove(carrier)


def _bounds(shell):
    low = [min(v.co[k] for v in shell.verts) for k in range(3)] if shell.verts else [0.0] * 3
    high = [max(v.co[k] for v in shell.verts) for k in range(3)] if shell.verts else [0.0] * 3
    return low, high


def _difference(shell, knife):
    if not shell.faces:
        return shell
    slot = shell.faces[:][0].material_index
    body, blade = _scratch_object("body", shell), _scratch_object("blade", knife)
    modifier = body.modifiers.new("cut", "BOOLEAN")
    modifier.operation, modifier.solver, modifier.object = "DIFFERENCE", "EXACT", blade
    shaped = bpy.data.meshes.new_from_object(body.evaluated_get(bpy.context.evaluated_depsgraph_get()))
    result = bmesh.new()
    result.from_mesh(shaped)
    # the solver leaves out a face here and there, where two cuts meet an edge
    bmesh.ops.holes_fill(result, edges=_open_edges(result), sides=0)
    for face in result.faces:
        face.material_index = slot
    for scratch in (body, blade):
        data = scratch.data
        bpy.data.objects.remove(scratch)
        bpy.data.meshes.remove(data)
    bpy.data.meshes.remove(shaped)
    shell.free()
    return result


def _scratch_object(name, mesh):
    data = bpy.data.meshes.new(name)
    mesh.to_mesh(data)
    made = bpy.data.objects.new(name, data)
    bpy.context.scene.collection.objects.link(made)
    return made


def rotation_along(axis, along):
    """Local +Z to `axis` and local Y to `along`, both in the vehicle's frame."""
    z, y = to_blender(Vector(axis)).normalized(), to_blender(Vector(along)).normalized()
    return Matrix((y.cross(z), y, z)).transposed()


def axis_rotation(axis, spin_degrees=0.0):
    """Turns local +Z (shank to head) to `axis`, given in the vehicle's frame; the spin is about that axis."""
    axis = Vector(axis).normalized()
    first, second = across(axis)
    columns = [to_blender(v) for v in (first, second, axis)]
    turned = Matrix(columns).transposed()
    if turned.determinant() < 0:
        turned = Matrix([-columns[0], columns[1], columns[2]]).transposed()
    return turned @ Matrix.Rotation(math.radians(spin_degrees), 3, "Z")
