// The page in a real Chromium, by touch alone.
// usage: node walk.mjs PROGRAM FOLDER MAP OUT    (FOLDER: what viewer/web/build wrote; screenshots and the single file go to OUT)
import { execFileSync, spawn } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { expect, serve, start, Tablet } from './browser.mjs';
import { kept } from './kept.mjs';

const [program, folder, map, out] = process.argv.slice(2).map((path) => resolve(path));
mkdirSync(out, { recursive: true });
const profile = () => mkdtempSync(join(out, 'profile-'));
const profiles = [];

/// From a file address, with no network: the whole job down and back, a reload in the middle of it, the context lost.
async function singleFile() {
    const file = join(out, 'one.html');
    execFileSync(program, ['page', map, '-o', file, '--built', folder]);
    profiles.push(profile());
    const context = await start(profiles.at(-1), 1280, 800);
    await context.setOffline(true);
    const from = Date.now();
    const tablet = await Tablet.open(context, pathToFileURL(file).href, /^(file|blob|data):/);
    await tablet.until((r) => r.state.open && r.frames > 0 && r.drawings > 0, 'the first picture');
    console.log(`first picture of the small map after ${((Date.now() - from) / 1000).toFixed(2)} s`);

    let now = await tablet.stepOn(); // the start card
    expect(now.start_read, 'the start card was read');
    const middle = Math.floor(now.steps / 2);
    while (now.at < middle) now = await tablet.stepOn();
    const before = await tablet.atRest();
    await tablet.page.waitForTimeout(300);
    await tablet.page.reload();
    await tablet.until((r) => r.state.open, 'open again');
    let again = (await tablet.atRest()).state;
    expect(again.at === middle, `a reload at step ${middle} comes back to ${again.at}`);
    expect(!again.start_read, 'and asks for the start card first');
    again = await tablet.stepOn();
    expect(again.start_read && again.at === middle && again.headline === before.state.headline, 'and goes on from there');

    // Lost and regained: the same picture.
    await tablet.page.waitForTimeout(600);
    await tablet.until((r) => !r.state.studying, 'what the shapes say', 300);
    const whole = await tablet.picture(join(out, 'before-loss.png'));
    await tablet.page.evaluate(() => {
        window.lose = document.getElementById('surface').getContext('webgl2').getExtension('WEBGL_lose_context');
        window.lose.loseContext();
    });
    await tablet.page.waitForTimeout(200);
    const frames = (await tablet.report()).frames; // before: the frame may come at once, and be the last
    await tablet.page.evaluate(() => window.lose.restoreContext());
    await tablet.until((r) => r.frames > frames, 'a frame in the new context');
    const restored = await tablet.picture(join(out, 'after-loss.png'));
    expect(whole.equals(restored), 'after the context came back the picture is the same');

    // Fingers: a palm presses nothing, two fingers come nearer, two quick taps are two.
    const drawing = (await tablet.report()).areas.drawing;
    const [x, y] = [drawing[0] + drawing[2] / 2, drawing[1] + drawing[3] / 2];
    const next = (await tablet.control('next')).box;
    await tablet.touch('touchStart', [next[0] + next[2] / 2, next[1] + next[3] / 2, 0, 90]);
    await tablet.touch('touchEnd');
    await tablet.page.waitForTimeout(300);
    expect((await tablet.atRest()).state.at === middle, 'a palm on the main action presses nothing');
    const far = (await tablet.report()).state.camera.distance_m;
    await tablet.touch('touchStart', [x - 40, y, 1], [x + 40, y, 2]);
    for (let i = 1; i <= 8; ++i) await tablet.touch('touchMove', [x - 40 - 8 * i, y, 1], [x + 40 + 8 * i, y, 2]);
    await tablet.touch('touchEnd');
    const near = (await tablet.atRest()).state;
    expect(near.camera.distance_m < 0.7 * far, `two fingers spread come nearer: ${far} m to ${near.camera.distance_m} m`);
    expect(near.by_hand && near.picked === null, 'and pick nothing');

    const rest = now.steps - middle;
    for (let i = 0; i < rest; ++i) now = await tablet.stepOn();
    expect(now.at === now.steps, 'the end of the way down');
    now = await tablet.stepOn();
    expect(now.way === 'refit' && now.at === 0, 'over to the way back');
    while (now.at < now.steps) now = await tablet.stepOn();
    tablet.fine();

    // The frames stop when nothing moves.
    await tablet.page.waitForTimeout(500);
    const still = (await tablet.report()).frames;
    await tablet.page.waitForTimeout(700);
    expect((await tablet.report()).frames === still, 'no frame is drawn while nothing changes');
    await context.close();
}

/// The map without its author's order: then what the shapes say decides it.
function withoutSteps(glb) {
    const size = glb.readUInt32LE(12);
    const document = JSON.parse(glb.subarray(20, 20 + size));
    for (const node of document.nodes) if (node.extras) delete node.extras.step;
    let text = Buffer.from(JSON.stringify(document));
    text = Buffer.concat([text, Buffer.alloc((4 - text.length % 4) % 4, ' ')]);
    const whole = Buffer.concat([glb.subarray(0, 20), text, glb.subarray(20 + size)]);
    whole.writeUInt32LE(whole.length, 8);
    whole.writeUInt32LE(text.length, 12);
    return whole;
}

/// The large map: its steps are the desktop's, no frame is held while the shapes are asked, and what is worked out beside
/// can be stopped and goes on.
async function estimates() {
    const given = join(out, 'no-steps.glb'), file = join(out, 'large.html');
    writeFileSync(given, withoutSteps(readFileSync(join(map, '..', 'transfer_box.glb'))));
    execFileSync(program, ['page', given, '-o', file, '--built', folder]);
    const headlines = (...how) => JSON.parse(execFileSync(program, ['order', given, '--json', ...how])).steps.map((step) => step.headline);
    const wanted = headlines(), stated = headlines('--no-estimates');
    const walked = wanted.findIndex((headline, i) => headline !== stated[i]) + 1;
    expect(walked > 0 && walked < 40, 'the shapes change the order early in this map, or else this tries nothing');

    profiles.push(profile());
    const context = await start(profiles.at(-1), 1280, 800);
    const from = Date.now();
    const since = () => ((Date.now() - from) / 1000).toFixed(1) + ' s';
    const tablet = await Tablet.open(context, pathToFileURL(file).href, /^(file|blob|data):/);
    await tablet.until((r) => r.state.open, 'the large map', 300);
    console.log(`the large map open after ${since()}; longest task of the page's thread ${await tablet.page.evaluate(() => window.longestTask)} ms`);

    await tablet.tap('study.stop');
    const stopped = await tablet.until((r) => !r.state.studying, 'the estimates stopped');
    expect(stopped.state.out_of_sight === null || stopped.controls.some((c) => c.id === 'study.stop'), 'stopped on the way');
    const bar = (report) => report.controls.find((c) => c.id === 'study.bar').label;
    await tablet.page.waitForTimeout(2000);
    expect(bar(await tablet.report()) === bar(stopped), 'nothing goes on after that: ' + bar(stopped));
    await tablet.tap('study.stop');
    expect((await tablet.report()).state.studying, 'they go on');
    await tablet.until((r) => !r.state.studying, 'all that the shapes say', 600);
    console.log(`all that the shapes say after ${since()}`);
    const whole = await tablet.atRest();
    expect(!whole.controls.some((c) => c.id === 'study.stop'), 'and all are there');
    expect(whole.state.out_of_sight > 0, 'those out of sight are known');
    await tablet.picture(join(out, 'large-start.png'));

    await tablet.stepOn(); // the start card
    for (let i = 0; i < walked; ++i) {
        const { headline } = (await tablet.atRest()).state;
        expect(headline === wanted[i], `step ${i + 1}: "${headline}" here, "${wanted[i]}" by the program's own order`);
        await tablet.stepOn();
    }
    const fitted = async () => {
        await tablet.page.keyboard.press('f');
        return (await tablet.atRest()).state;
    };
    const together = await fitted();
    await tablet.page.keyboard.press('e');
    await tablet.page.keyboard.press('e');
    await tablet.atRest();
    const apart = await fitted();
    expect(apart.explode > 0.4, 'it is pulled apart');
    expect(apart.camera.distance_m > together.camera.distance_m, `and needs more room: ${together.camera.distance_m} m, ${apart.camera.distance_m} m`);
    await tablet.picture(join(out, 'large-apart.png'));
    tablet.fine();
    await context.close();
}

/// A browser that refuses the worker: the page asks the shapes for the order itself, and does without the rest.
async function withoutWorker() {
    profiles.push(profile());
    const context = await start(profiles.at(-1), 1280, 800);
    await context.addInitScript(() => { window.Worker = class { constructor() { throw new Error('refused'); } }; });
    const tablet = await Tablet.open(context, pathToFileURL(join(out, 'large.html')).href, /^(file|blob|data):/);
    const report = await tablet.until((r) => r.state.open && !r.state.studying, 'the map', 300);
    console.log(`without a worker: longest task of the page's thread ${await tablet.page.evaluate(() => window.longestTask)} ms`);
    expect(report.state.out_of_sight === null, 'nothing was worked out beside');
    expect((await tablet.control('study.stop')).label === 'Go on', 'and that can be asked for again');
    await tablet.stepOn();
    const steps = JSON.parse(execFileSync(program, ['order', join(out, 'no-steps.glb'), '--json'])).steps;
    for (let i = 0; i < 12; ++i) {
        const { headline } = (await tablet.atRest()).state;
        expect(headline === steps[i].headline, `step ${i + 1}: "${headline}" here, "${steps[i].headline}" by the program's own order`);
        await tablet.stepOn();
    }
    tablet.fine();
    await context.close();
}

/// A finger that rests asks, and enters nothing, though no frame would be drawn for its sake; one that is drawn over a list
/// turns it, and presses nothing. Tray and log can be read on a tablet on its side.
async function fingers() {
    const file = join(out, 'one.html');
    execFileSync(program, ['page', map, '-o', file, '--built', folder]);
    profiles.push(profile());
    const context = await start(profiles.at(-1), 1280, 800);
    const tablet = await Tablet.open(context, pathToFileURL(file).href, /^(file|blob|data):/);
    await tablet.until((r) => r.state.open && !r.state.studying, 'the map', 300);
    await tablet.stepOn();
    const ticks = (report) => report.controls.filter((c) => c.id.startsWith('tick.') && !c.cut);
    let report = await tablet.atRest();
    while (ticks(report).length === 0) {
        await tablet.stepOn();
        report = await tablet.atRest();
    }
    const entries = report.state.entries;
    const [x, y, w, h] = ticks(report)[0].box;
    await tablet.touch('touchStart', [x + w / 2, y + h / 2]);
    await tablet.until((r) => r.state.panel === 'About', 'what is under a finger that rests', 5);
    await tablet.touch('touchEnd');
    expect((await tablet.atRest()).state.entries === entries, 'and nothing was entered');

    await tablet.tap('panel.Steps');
    report = await tablet.atRest();
    const rows = (r) => r.controls.filter((c) => c.role === 'row').map((c) => c.id + ' ' + c.box[1]).join();
    const [px, py, pw, ph] = report.areas.panel;
    const at = report.state.at, before = rows(report), frames = report.frames;
    await tablet.tapAt(px + pw / 2, py + ph + 4); // nowhere: the same picture
    expect(rows(await tablet.atRest()) === before, 'what came up is at rest at once');
    const swipe = async (from, to) => {
        await tablet.touch('touchStart', [px + pw / 2, from]);
        for (let i = 1; i <= 6; ++i) await tablet.touch('touchMove', [px + pw / 2, from + (to - from) * i / 6]);
        await tablet.touch('touchEnd');
        return tablet.atRest();
    };
    const up = await swipe(py + 0.5 * ph, py + 0.2 * ph);
    const down = rows(up) === before ? await swipe(py + 0.2 * ph, py + 0.5 * ph) : up;
    expect(rows(down) !== before, 'the list goes with the finger');
    expect(down.state.at === at && down.state.entries === entries && down.frames > frames, 'and no row was pressed');

    await tablet.tap((await tablet.atRest()).controls.find((c) => /^ledger/.test(c.id)).id);
    for (const tab of ['Tray', 'Not torqued', 'Log', 'To have']) {
        if (tab !== 'Tray') await tablet.tap('tab.' + tab);
        report = await tablet.atRest();
        const panel = report.areas.panel;
        const low = Math.max(...report.controls.filter((c) => c.id.startsWith('tab.')).map((c) => c.box[1] + c.box[3]));
        expect(panel[1] + panel[3] - low > 0.5 * panel[3], `${tab}: more than half of the panel is the list: ${panel}, its tabs end at ${low}`);
    }
    await tablet.picture(join(out, 'to-have.png'));

    // A list of tools is kept by the browser; one that cannot be read is refused in words.
    await tablet.drop('mine.txt', 'text/plain', 'torque wrench 5..25 N·m\ntorque wrench 20..100 N·m\n');
    await tablet.until((r) => r.state.tools === 2 && r.state.panel === 'Display', 'two wrenches');
    await tablet.drop('other.txt', 'text/plain', 'torque ranch\n');
    expect((await tablet.until((r) => r.state.error !== '', 'a refusal')).state.error.includes('other.txt'), 'that names the list');
    await tablet.tap('path.back');
    await tablet.page.waitForTimeout(300);
    await tablet.page.reload();
    const again = await tablet.until((r) => r.state.open, 'the map again');
    expect(again.state.tools === 2 && again.state.error === '', 'with the wrenches that were named');
    tablet.fine();
    await context.close();
}

/// Marking up: what was not saved is there again after a reload, its photograph too; saved, it is gone from the storage.
async function marks() {
    const file = join(out, 'one.html');
    execFileSync(program, ['page', map, '-o', file, '--built', folder]);
    profiles.push(profile());
    const context = await start(profiles.at(-1), 1280, 800);
    const tablet = await Tablet.open(context, pathToFileURL(file).href, /^(file|blob|data):/);
    const marking = async () => (await tablet.atRest()).state.marking;
    await tablet.until((r) => r.state.open, 'the map');
    await tablet.page.keyboard.press('F7');
    await tablet.until((r) => r.state.marking !== null, 'the room');
    await tablet.tap('mark.tab.nodes');
    await tablet.tap('mark.node.engine_block');
    expect((await marking()).picked.join() === 'engine_block', 'one is picked');
    const picture = await tablet.page.evaluate(async () => {
        const canvas = Object.assign(document.createElement('canvas'), { width: 320, height: 240 });
        canvas.getContext('2d').fillRect(20, 20, 90, 60);
        const blob = await new Promise((done) => canvas.toBlob(done));
        return [...new Uint8Array(await blob.arrayBuffer())];
    });
    await tablet.drop('from below.png', 'image/png', picture);
    await tablet.until((r) => r.state.marking.deeds === 1, 'a dropped picture is a photograph');
    await tablet.tap('mark.as.Scenery');
    expect((await marking()).deeds === 2, 'and it is said to be scenery');
    await tablet.tap('mark.undo');
    await tablet.page.waitForTimeout(500);
    await tablet.page.reload();
    const back = await tablet.until((r) => r.state.marking !== null && r.state.opening === null, 'the room again');
    expect(back.state.marking.deeds === 1 && back.state.marking.undone === 1 && back.state.marking.unsaved && /^Taken up again: 1 deed not/.test(back.state.marking.said),
           'what was marked is there, and what was undone can be done again: ' + JSON.stringify(back.state.marking));
    await tablet.tap('mark.tab.nodes');
    await tablet.tap('mark.node.engine_block');
    await tablet.until((r) => r.controls.some((c) => c.id === 'photo.small.from_below'), 'the photograph');
    await tablet.picture(join(out, 'marked-again.png'));
    const download = tablet.page.waitForEvent('download');
    await tablet.tap('mark.save');
    const saved = join(out, 'marked.glb');
    await (await download).saveAs(saved);
    expect(execFileSync(program, ['photo', saved]).includes('from_below: 320 x 240'), 'it is in the saved map');
    await tablet.page.waitForTimeout(500);
    await tablet.page.reload();
    const after = await tablet.until((r) => r.state.marking !== null && r.state.opening === null, 'the room, as it was left');
    expect(after.state.marking.deeds === 0 && after.state.marking.undone === 0, 'what was saved is not taken up again: ' + JSON.stringify(after.state.marking));
    // Saved and left, it is what is walked through, and what is marked up next.
    await tablet.tap('mark.tab.nodes');
    await tablet.tap('mark.node.engine_block');
    await tablet.tap('mark.as.Scenery');
    await tablet.until((r) => r.state.marking.deeds === 1, 'it is said to be scenery');
    const second = tablet.page.waitForEvent('download');
    await tablet.tap('mark.save');
    await second;
    await tablet.tap('mark.leave');
    await tablet.until((r) => r.state.marking === null && r.state.opening === null && r.state.open, 'the walk');
    await tablet.page.keyboard.press('F7');
    const next = await tablet.until((r) => r.state.marking !== null, 'the room again');
    expect(/_marked\.glb$/.test(next.state.marking.save_to) && next.state.marking.deeds === 0, 'what was saved is open: ' + JSON.stringify(next.state.marking));
    await tablet.tap('mark.tab.nodes');
    await tablet.tap('mark.node.engine_block');
    await tablet.until((r) => r.controls.some((c) => c.id === 'mark.as.Scenery' && c.on), 'as it was saved');
    tablet.fine();
    await context.close();
}

/// The map of the address is not there: it is said, and what is taken up beside it, a list of tools, leaves that standing.
async function missing() {
    const server = await serve(folder);
    profiles.push(profile());
    const context = await start(profiles.at(-1), 1280, 800);
    await context.addInitScript(() => Object.defineProperty(navigator, 'serviceWorker', { value: undefined })); // it has the maps
    const tablet = await Tablet.open(context, server.url, new RegExp(`^(${server.url}|blob:)`));
    await tablet.atRest();
    await tablet.drop('mine.txt', 'text/plain', 'torque wrench 5..25 N·m\n');
    await tablet.until((r) => r.state.tools === 1, 'a wrench');
    await tablet.page.waitForTimeout(300);
    await tablet.page.route('**/maps/water_pump.glb', (route) => route.fulfill({ status: 404, body: '' }));
    await tablet.page.goto(`${server.url}?map=maps/water_pump.glb`);
    await tablet.until((r) => r.state.tools === 1, 'the wrench again');
    const { error } = (await tablet.atRest()).state;
    expect(/^Not loaded: maps\/water_pump\.glb: 404/.test(error), `that the map is missing is said: ${error}`);
    await context.close();
    server.close();
}

/// From a server: the maps that came along, the file picker, what was open comes back.
async function fromServer() {
    const server = await serve(folder);
    profiles.push(profile());
    const context = await start(profiles.at(-1), 1280, 800);
    const tablet = await Tablet.open(context, server.url, new RegExp(`^(${server.url}|blob:)`));
    const chooser = tablet.page.waitForEvent('filechooser');
    await tablet.tap('file.choose');
    await (await chooser).setFiles(map);
    const report = await tablet.until((r) => r.state.open, 'the chosen map');
    expect(report.state.steps > 0, 'the chosen map has steps');
    await tablet.stepOn();
    const at = (await tablet.stepOn()).at;
    await tablet.page.waitForTimeout(300);
    await tablet.page.reload();
    const back = await tablet.until((r) => r.state.open, 'the last map again');
    expect(back.state.at === at && back.state.steps === report.state.steps, 'it comes back by itself, at its step');

    // Looked into the marking room and left it as it was: the same map is open, and comes back as before.
    await tablet.page.keyboard.press('F7');
    await tablet.until((r) => r.state.marking !== null, 'the marking room');
    await tablet.tap('mark.leave');
    await tablet.until((r) => r.state.marking === null, 'the walk again');
    await tablet.stepOn(); // the start card
    const later = (await tablet.stepOn()).at;
    await tablet.page.waitForTimeout(300);
    await tablet.page.reload();
    const left = await tablet.until((r) => r.state.open, 'the map after the marking room');
    expect(later > at && left.state.at === later, `it comes back at the step after: ${left.state.at} of ${later}`);

    // Dropped: a file that is no map is refused in words.
    await tablet.drop('x.glb', '', 'no map');
    const refused = await tablet.until((r) => r.state.error !== '', 'a refusal');
    expect(refused.state.error.includes('x.glb'), 'the refusal names the file: ' + refused.state.error);
    await tablet.tap('path.back');
    await tablet.until((r) => r.state.error === '' && r.state.open, 'back to what was open');

    // Typing: the browser's own field, over the one drawn.
    await tablet.stepOn();
    await tablet.tap('panel.Find');
    await tablet.tap('find.field');
    await tablet.page.keyboard.type('bolt');
    await tablet.until((r) => r.controls.some((c) => c.role === 'field' && c.label === 'bolt'), 'what was typed');
    tablet.fine();

    // The server gone: the page is kept, and what was open.
    await tablet.page.evaluate(() => navigator.serviceWorker.ready);
    await tablet.page.waitForTimeout(500);
    server.close();
    await context.setOffline(true);
    await tablet.page.reload();
    await tablet.until((r) => r.state.open, 'the page without its server');
    await context.close();
}

/// From `boltwalk serve`: the policy that comes with it lets the page do all that it does, a worker and being kept among it.
async function handedOver() {
    const server = spawn(program, ['serve', map, '--built', folder, '--port', '7431'], { stdio: ['ignore', 'pipe', 'inherit'] });
    try {
        const url = await new Promise((done, failed) => {
            let said = '';
            server.stdout.on('data', (part) => {
                said += part;
                const address = /http:\/\/localhost:\S+/.exec(said);
                if (address) done(address[0]);
            });
            server.on('exit', (code) => failed(new Error(`boltwalk serve ended with ${code}`)));
        });
        profiles.push(profile());
        const context = await start(profiles.at(-1), 1280, 800);
        const tablet = await Tablet.open(context, url, new RegExp(`^(${url}|blob:|data:)`));
        const whole = await tablet.until((r) => r.state.open && !r.state.studying, 'the map and what its shapes say', 300);
        expect(whole.state.out_of_sight !== null, 'the worker answered');
        await tablet.stepOn();
        const at = (await tablet.stepOn()).at;
        await tablet.page.waitForTimeout(300);
        await tablet.page.reload();
        const back = await tablet.until((r) => r.state.open, 'the map again');
        expect(back.state.at === at, `a reload at step ${at} comes back to ${back.state.at}`);
        const isKept = tablet.page.evaluate(() => navigator.serviceWorker.ready.then(() => true));
        expect(await Promise.race([isKept, tablet.page.waitForTimeout(60000)]), 'the browser keeps the page');
        await tablet.page.waitForTimeout(1000);
        tablet.fine();
        server.removeAllListeners('exit');
        server.kill('SIGINT');
        await context.setOffline(true);
        await tablet.page.reload();
        await tablet.until((r) => r.state.open && r.state.at === at, 'the page without its server');
        await context.close();
    } finally {
        server.kill('SIGINT');
    }
}

const SIZES = process.env.BOLTWALK_SIZE ? [process.env.BOLTWALK_SIZE.split(',').map(Number)] : [[1280, 800, 1], [800, 1280, 1], [1000, 600, 2]];

/// Every tablet's shape, both polarities: to be looked at, and nothing may lie over another thing.
async function pictures() {
    const file = join(out, 'one.html');
    execFileSync(program, ['page', map, '-o', file, '--built', folder]);
    for (const [width, height, ratio] of SIZES) {
        profiles.push(profile());
        const context = await start(profiles.at(-1), width, height, ratio);
        const tablet = await Tablet.open(context, pathToFileURL(file).href, /^(file|blob|data):/);
        const name = `${width * ratio}x${height * ratio}`;
        const shot = (what) => tablet.picture(join(out, `${name}-${what}.png`));
        await tablet.until((r) => r.state.open && !r.state.studying, 'the map', 300);
        let report = null;
        for (const light of ['day', 'night']) {
            await tablet.page.waitForTimeout(400);
            if (light === 'day') await shot('start-day');
            if (light === 'night') {
                await tablet.page.keyboard.press('d');
                await tablet.page.waitForTimeout(400);
            } else {
                for (let i = 0; i < 6; ++i) await tablet.stepOn();
            }
            report = await tablet.atRest();
            await shot('step-' + light);
            expect(Math.max(...report.atlas) <= 2048, `the letters' texture is within what WebGL 2 guarantees: ${report.atlas}`);
            expect(report.window.width === width && report.window.height === height, 'the page has the whole screen');
            const boxes = Object.entries(report.areas);
            for (const [what, [x, y, w, h]] of boxes)
                expect(x >= 0 && y >= 0 && x + w <= width + 0.5 && y + h <= height + 0.5, `${name}: ${what} is cut off`);
        }
        // From 3 m the letters are largest.
        await tablet.page.keyboard.press('F6');
        for (let i = 0; i < 20 && !(await tablet.atRest()).controls.some((c) => c.id === 'reach.helper' && !c.cut); ++i) await tablet.tap('display.more');
        const capital = (await tablet.report()).window.capital_mm;
        await tablet.tap('reach.helper');
        const far = await tablet.atRest();
        expect(Math.max(...far.atlas) <= 2048, `from 3 m too: ${far.atlas}`);
        expect(far.window.capital_mm > 4 * capital, `capitals from 3 m: ${far.window.capital_mm} mm after ${capital} mm`);
        await tablet.tap('more');
        await tablet.atRest();
        await shot('helper');
        await tablet.tap('show');
        await tablet.atRest();
        await shot('helper-drawing');
        console.log(`${name}: the letters' texture ${report.atlas.join('x')}, from 3 m ${far.atlas.join('x')}`);
        tablet.fine();
        await context.close();
    }
}

try {
    const newProfile = () => profiles[profiles.push(profile()) - 1];
    const which = { single: singleFile, kept: () => kept(program, folder, map, out, newProfile), fingers, marks, estimates, alone: withoutWorker, missing, server: fromServer, served: handedOver, pictures };
    for (const name of process.env.BOLTWALK_WEB ? process.env.BOLTWALK_WEB.split(',') : Object.keys(which)) {
        const from = Date.now();
        await which[name]();
        console.log(`${name}: ${((Date.now() - from) / 1000).toFixed(1)} s`);
    }
} finally {
    for (const one of profiles) rmSync(one, { recursive: true, force: true });
}
