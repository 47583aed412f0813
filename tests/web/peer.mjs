// Our page and three.js, in the same kind of browser on the same machine, in turn: the same file, drawings of the
// same size, antialiased, with edges. Prints how long it took to the first picture and how long a frame takes, and ratios
// of the two; nothing is judged by them.
// usage: node peer.mjs FOLDER OUT [MAP...]     (FOLDER: what viewer/web/build wrote; maps by their names in it)
import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { serve, start, Tablet } from './browser.mjs';

const [folder, out] = process.argv.slice(2, 4).map((path) => resolve(path));
const maps = process.argv.length > 4 ? process.argv.slice(4) : ['water_pump.glb', 'transfer_box.glb'];
const ROUNDS = Number(process.env.ROUNDS || 5), FRAMES = 40;
mkdirSync(out, { recursive: true });

const median = (all) => [...all].sort((a, b) => a - b)[Math.floor(all.length / 2)];

/// In the page: frames are asked for by us, and a frame is over when what it drew can be read.
function prepare() {
    window.due = [];
    window.byHand = false;
    const own = window.requestAnimationFrame.bind(window);
    window.requestAnimationFrame = (call) => { if (window.byHand) { window.due.push(call); return 0; } return own(call); };
    window.finish = () => {
        const canvas = document.getElementById('surface') || window.surface;
        const gl = canvas.getContext('webgl2');
        gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4));
    };
    window.firstPicture = null;
    new PerformanceObserver((list) => {
        if (window.firstPicture === null && list.getEntries().some((mark) => /first drawing$/.test(mark.name)))
            setTimeout(() => { window.finish(); window.firstPicture = performance.now(); });
    }).observe({ type: 'mark', buffered: true });
}

async function firstPicture(page) {
    await page.waitForFunction(() => window.firstPicture !== null, null, { timeout: 300000 });
    return page.evaluate(() => window.firstPicture);
}

async function ours(context, base, map) {
    const tablet = await Tablet.open(context, `${base}?map=maps/${map}`, /./);
    const first = await firstPicture(tablet.page);
    await tablet.until((r) => r.state.open, 'the map', 300);
    const open = await tablet.page.evaluate(() => performance.now());
    await tablet.until((r) => !r.state.studying, 'what the shapes say', 600); // nothing works beside while frames are timed
    for (let i = 0; i < 40 && !(await tablet.atRest()).state.start_read; ++i) await tablet.tap('next');
    await tablet.page.keyboard.press('f');
    const { areas } = await tablet.atRest();
    const frames = await tablet.page.evaluate(async (count) => {
        window.byHand = true;
        const times = [];
        const key = () => document.dispatchEvent(new KeyboardEvent('keydown', { key: 'ArrowRight', code: 'ArrowRight', shiftKey: true, bubbles: true }));
        key();
        await new Promise((done) => setTimeout(done, 100));
        let now = performance.now();
        const drawings = window.boltwalkReport().drawings;
        for (let i = 0; i < count; ++i) {
            key();
            const calls = window.due.splice(0);
            now += 1000 / 60;
            const from = performance.now();
            for (const call of calls) call(now);
            window.finish();
            times.push(performance.now() - from);
        }
        window.byHand = false;
        for (const call of window.due.splice(0)) requestAnimationFrame(call);
        return { times, drawn: window.boltwalkReport().drawings - drawings };
    }, FRAMES);
    if (frames.drawn < FRAMES) throw new Error(`${frames.drawn} of ${FRAMES} frames were drawn anew: no measure`);
    await tablet.page.screenshot({ path: join(out, `peer-ours-${map}.png`) });
    await tablet.page.close();
    return { first, open, frame: median(frames.times), width: Math.round(areas.drawing[2]), height: Math.round(areas.drawing[3]) };
}

async function theirs(context, base, map, width, height) {
    const page = await context.newPage();
    page.on('pageerror', (error) => { throw error; });
    await page.goto(`${base}peer.html?map=maps/${map}&width=${width}&height=${height}`);
    const first = await firstPicture(page);
    const times = await page.evaluate((count) => {
        const all = [];
        for (let i = 0; i < count; ++i) {
            const from = performance.now();
            window.turn(30 + 3 * i);
            window.finish();
            all.push(performance.now() - from);
        }
        return all;
    }, FRAMES);
    await page.screenshot({ path: join(out, `peer-three-${map}.png`) });
    await page.close();
    return { first, frame: median(times) };
}

/// A browser of its own for each: nothing of the other is started, compiled or kept already.
async function fresh(measure) {
    const profile = mkdtempSync(join(out, 'profile-'));
    const context = await start(profile, 1280, 800);
    await context.addInitScript(prepare);
    const result = await measure(context);
    await context.close();
    rmSync(profile, { recursive: true, force: true });
    return result;
}

for (const map of maps) {
    const firsts = [], frames = [];
    for (let i = 0; i < ROUNDS; ++i) {
        const server = await serve(folder, import.meta.dirname);
        const we = await fresh((context) => ours(context, server.url, map));
        const they = await fresh((context) => theirs(context, server.url, map, we.width, we.height));
        server.close();
        firsts.push([we.first, they.first]);
        frames.push([we.frame, they.frame]);
        console.log(`${map}, ${we.width}x${we.height}: first picture ${we.first.toFixed(0)} ms (orders worked out ${we.open.toFixed(0)} ms) and ${they.first.toFixed(0)} ms, ` +
                    `frame ${we.frame.toFixed(1)} ms and ${they.frame.toFixed(1)} ms`);
    }
    const ratio = (all) => median(all.map(([we, they]) => we / they)).toFixed(2);
    console.log(`${map}: ours to three.js, the middle of ${ROUNDS}: first picture ${ratio(firsts)}, frame ${ratio(frames)}`);
}
