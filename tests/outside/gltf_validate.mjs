// What the glTF validator says of files: its errors' codes and their number. Source: gltf-validator, by the makers of
// the specification (Apache-2.0). Usage: node gltf_validate.mjs FILE... ; one JSON line a file.
import fs from 'node:fs';
import {createRequire} from 'node:module';
import path from 'node:path';

const validator = createRequire(import.meta.url)('gltf-validator');

for (const file of process.argv.slice(2)) {
    const report = await validator
                       .validateBytes(new Uint8Array(fs.readFileSync(file)), {
                           uri : path.basename(file),
                           maxIssues : 1000,
                           externalResourceFunction : async (uri) =>
                               new Uint8Array(fs.readFileSync(path.join(path.dirname(file), decodeURIComponent(uri)))),
                       })
                       .catch((error) => ({error : String(error)}));
    const errors = (report.issues?.messages ?? []).filter((issue) => issue.severity === 0);
    console.log(JSON.stringify({
        file,
        failed : report.error ?? null,
        errors : report.issues?.numErrors ?? -1,
        warnings : report.issues?.numWarnings ?? -1,
        says : (report.issues?.messages ?? []).slice(0, 20).map((issue) => `${issue.code} ${issue.pointer ?? ''}`),
        codes : errors.map((issue) => `${issue.code} ${issue.pointer ?? ''}`).slice(0, 20),
    }));
}
