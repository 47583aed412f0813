"""Nodes of a map and their annotation, and the export to one .glb file."""
import bpy
from mathutils import Vector

import hardware

from solids import axis_rotation, rotation_along, to_blender

COUNTERSUNK = 0.3  # so far the mouth of a thread is as wide as a plain hole


class Map:

    def __init__(self, **keys):
        bpy.ops.wm.read_factory_settings(use_empty=True)
        self.root = bpy.context.scene.collection
        self.scene_keys = keys
        self.counts = {}
        self.shapes = {}  # part name: (solid, origin, angle), made into a mesh once all its holes are known
        self.holes = []  # (names of parts, start, end, radius)
        for key, value in keys.items():
            bpy.context.scene[key] = value

    def part(self, name, title, solid=None, origin=(0, 0, 0), angle=38, **keys):
        self.shapes[name] = (solid, origin, angle)
        data = bpy.data.meshes.new(f"{name}_later")
        return self._node(name, data, origin, None, None, {"part": title, **keys})

    def hole(self, parts, start, end, radius):
        self.holes.append((parts.split(";"), Vector(start), Vector(end), radius))

    def group(self, name, title, count, **keys):
        return self._node(name, None, (0, 0, 0), None, None, {"group": title, "count": count, **keys})

    def fastener(self, name, mesh, at, axis, under=None, spin=0.0, thread_in=None, **keys):
        """`thread_in`: (part, depth) that the thread is cut in, from so far below the bearing face on; elsewhere, and
        down to there, the hole is wider than the shank."""
        shank = hardware.SHANK.get(mesh.name)
        holds = keys.get("holds") or (under.get("holds") if under else None)
        if shank and holds:
            diameter, below, above = shank
            middle, axis_unit = Vector(at), Vector(axis).normalized()
            high, low = middle + axis_unit * (above + 1), middle - axis_unit * (below + 1.5)
            wide = diameter / 2 + max(0.4, 0.04 * diameter)
            part, depth = thread_in or (None, 0)
            self.hole(";".join(other for other in holds.split(";") if other != part), low, high, wide)
            if part:
                self.hole(part, middle - axis_unit * (depth + COUNTERSUNK), high, wide)
                self.hole(part, low, high, diameter / 2)
        return self._node(name, mesh, at, axis_rotation(axis, spin), under, keys)

    def hose_clip(self, name, mesh, reach, centre, along, axis, under=None, **keys):
        """A clip placed by the middle of the hose under it; its screw looks along `axis`."""
        rotation = rotation_along(axis, along)
        away, above = reach
        beside = rotation @ Vector((away, 0, above))
        at = Vector(centre) + Vector((beside.x, -beside.y, beside.z))
        return self._node(name, mesh, at, rotation, under, keys)

    def task(self, name, title, **keys):
        return self._node(name, None, (0, 0, 0), None, None, {"task": title, **keys})

    def _node(self, name, data, at, rotation, under, keys):
        if name in bpy.data.objects:
            raise ValueError(f"two nodes are called {name}")
        node = bpy.data.objects.new(name, data)
        self.root.objects.link(node)
        node.location = to_blender(Vector(at)) / 1000
        if rotation:
            node.rotation_mode = "QUATERNION"
            node.rotation_quaternion = rotation.to_quaternion()
        if under:
            node.parent = under
        for key, value in keys.items():
            if value is not None:
                node[key.rstrip("_")] = value  # from_: the bare word is Python's own
        kind = next((k for k in ("part", "task", "group") if k in keys),
                    "fastener" if under or "fastener" in keys else "scenery")
        self.counts[kind] = self.counts.get(kind, 0) + 1
        return node

    def write(self, path):
        for name, (solid, origin, angle) in self.shapes.items():
            for parts, start, end, radius in self.holes:
                if name in parts:
                    solid.drill(start, end, radius)
            if solid.is_open():
                raise ValueError(f"{name}: its surface has holes")
            bpy.data.objects[name].data = solid.to_mesh(name, origin, angle)
        triangles = 0
        for node in bpy.data.objects:
            if node.data:
                node.data.calc_loop_triangles()
                triangles += len(node.data.loop_triangles)
        bpy.ops.export_scene.gltf(filepath=path, export_format="GLB", export_extras=True, export_yup=True,
                                  export_apply=False, export_materials="EXPORT", export_animations=False,
                                  export_texcoords=False, export_normals=True, export_tangents=False,
                                  export_colors=False, export_cameras=False, export_lights=False, export_skins=False,
                                  export_morph=False)
        print(path, self.counts, "triangles drawn:", triangles)
