// What another glTF reader makes of models: each node's place in the world, each mesh's bounds and triangles.
// Source: @gltf-transform/core, a library by others (MIT). Usage: node gltf_reader.mjs FILE... ; one JSON line a file.
// Images and the like are taken out before it reads: some of the models lack them, and nothing here looks at them.
import {Logger, NodeIO} from '@gltf-transform/core';
import fs from 'node:fs';
import path from 'node:path';

function unpack(file) {
    const bytes = fs.readFileSync(file);
    if (bytes.toString('latin1', 0, 4) !== 'glTF') {
        return {json : JSON.parse(bytes.toString('utf8')), chunk : null};
    }
    const jsonLength = bytes.readUInt32LE(12);
    const json = JSON.parse(bytes.toString('utf8', 20, 20 + jsonLength));
    const at = 20 + jsonLength;
    const chunk = at + 8 <= bytes.length ? bytes.subarray(at + 8, at + 8 + bytes.readUInt32LE(at)) : null;
    return {json, chunk};
}

function corners(primitive) {
    const indices = primitive.getIndices();
    const list = indices ? Array.from(indices.getArray())
                         : Array.from({length : primitive.getAttribute('POSITION').getCount()}, (_, i) => i);
    switch (primitive.getMode()) {
    case 4:
        return list.slice(0, list.length - list.length % 3);
    case 5:
    case 6:
        return list.length < 3 ? [] : list;
    default:
        return [];
    }
}

function triangles(primitive, count) { return primitive.getMode() === 4 ? count / 3 : Math.max(0, count - 2); }

async function look(file) {
    const {json, chunk} = unpack(file);
    for (const key of ['images', 'textures', 'samplers', 'materials', 'animations', 'skins', 'cameras',
                       'extensionsRequired', 'extensionsUsed']) {
        delete json[key];
    }
    for (const mesh of json.meshes ?? []) {
        for (const primitive of mesh.primitives) {
            delete primitive.material;
        }
    }
    for (const node of json.nodes ?? []) {
        delete node.skin;
        delete node.camera;
    }
    const resources = {};
    for (const buffer of json.buffers ?? []) {
        if (buffer.uri === undefined) {
            resources['@glb.bin'] = new Uint8Array(chunk);
        } else if (!buffer.uri.startsWith('data:')) {
            resources[buffer.uri] =
                new Uint8Array(fs.readFileSync(path.join(path.dirname(file), decodeURIComponent(buffer.uri))));
        }
    }
    const io = new NodeIO().setLogger(new Logger(Logger.Verbosity.SILENT));
    const root = (await io.readJSON({json, resources})).getRoot();
    return {
        nodes : root.listNodes().map((node) => node.getWorldMatrix()),
        meshes : root.listMeshes().map((mesh) => {
            const low = [ Infinity, Infinity, Infinity ];
            const high = [ -Infinity, -Infinity, -Infinity ];
            let count = 0;
            const point = [];
            for (const primitive of mesh.listPrimitives()) {
                const used = corners(primitive);
                count += triangles(primitive, used.length);
                for (const corner of used) {
                    primitive.getAttribute('POSITION').getElement(corner, point);
                    for (let axis = 0; axis < 3; ++axis) {
                        low[axis] = Math.min(low[axis], point[axis]);
                        high[axis] = Math.max(high[axis], point[axis]);
                    }
                }
            }
            return {triangles : Math.max(0, count), low : count > 0 ? low : null, high : count > 0 ? high : null};
        }),
    };
}

for (const file of process.argv.slice(2)) {
    try {
        console.log(JSON.stringify({file, ...(await look(file))}));
    } catch (error) {
        console.log(JSON.stringify({file, error : String(error)}));
    }
}
