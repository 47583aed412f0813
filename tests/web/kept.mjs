// What the page says is stored is in the browser's storage: after a reload in the middle of a step, after the browser was
// killed, beside another window, and said otherwise where the browser refuses.
import { execFileSync } from 'node:child_process';
import { copyFileSync, mkdirSync, readlinkSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { expect, serve, start, Tablet } from './browser.mjs';

const FROM_FILE = /^(file|blob|data):/;
const isTick = (control) => control.id.startsWith('tick.') && control.id !== 'tick.round';

async function opened(tablet) {
    await tablet.until((r) => r.state.open, 'the map');
    await tablet.atRest();
}

/// Steps on until one has several marks, and comes back with them.
async function toMarks(tablet) {
    for (let i = 0; i < 60; ++i) {
        const marks = (await tablet.atRest()).controls.filter((c) => isTick(c) && c.enabled && !c.cut);
        if (marks.length > 2) return marks.map((c) => c.id);
        await tablet.stepOn();
    }
    throw new Error('no step with marks');
}

/// A tap, and the entry that it makes is stored.
async function enter(tablet, id) {
    const before = (await tablet.atRest()).state.entries;
    await tablet.tap(id);
    return (await tablet.until((r) => r.state.entries > before && r.state.stored, `what ${id} enters is stored`)).state;
}

/// The browser's own process, by the lock that it keeps in its profile; killed with no word to it.
function kill(profile) {
    const lock = join(profile, 'SingletonLock');
    process.kill(Number(readlinkSync(lock).split('-').at(-1)), 'SIGKILL');
    for (const name of ['SingletonLock', 'SingletonSocket', 'SingletonCookie']) rmSync(join(profile, name), { force: true });
}

/// `out`: where files may go; `profile()`: a new one.
export async function kept(program, folder, map, out, profile) {
    const file = join(out, 'kept.html');
    execFileSync(program, ['page', map, '-o', file, '--built', folder]);
    const url = pathToFileURL(file).href;
    const tries = [() => reloadAndKills(program, url, map, out, profile()), () => twoWindows(url, profile()), () => changedMap(program, folder, map, out, profile()),
        () => refusedAtAll(url, profile()), () => noRoom(folder, map, profile())];
    for (const one of process.env.BOLTWALK_KEPT ? [tries[process.env.BOLTWALK_KEPT]] : tries) await one();
}

async function reloadAndKills(program, url, map, out, where) {
    let context = await start(where, 1280, 800);
    let tablet = await Tablet.open(context, url, FROM_FILE);
    await opened(tablet);
    let state = (await tablet.report()).state;
    expect(state.entries === 0 && state.warning === '' && state.where !== '', 'an empty log, in the browser: ' + JSON.stringify(state));
    await tablet.stepOn();
    const marks = await toMarks(tablet);
    state = await enter(tablet, marks[1]);
    const { at, entries, headline } = state;
    const on = (report, id) => report.controls.find((c) => c.id === id).label;
    const marked = on(await tablet.atRest(), marks[1]);
    await tablet.page.reload();
    await opened(tablet);
    state = (await tablet.report()).state;
    expect(state.entries === entries && state.resumed, `after a reload in a step ${state.entries} entries of ${entries}`);
    await tablet.stepOn(); // the start card
    let report = await tablet.atRest();
    expect(report.state.at === at && report.state.headline === headline, `the same step: ${report.state.headline}`);
    expect(on(report, marks[1]) === marked, `its mark is as it was: ${on(report, marks[1])}`);
    tablet.fine();

    // A copy of its file beside the map is the desktop's log.
    await tablet.page.keyboard.press('j');
    const download = tablet.page.waitForEvent('download');
    await tablet.tap('record.copy');
    const beside = join(out, 'copied.glb');
    copyFileSync(map, beside);
    await (await download).saveAs(beside + '.log.sqlite');
    const told = JSON.parse(execFileSync(program, ['log', beside, '--json']));
    expect(told.entries.length === entries, `the copy tells of ${told.entries.length} entries of ${entries}`);
    rmSync(beside + '.log.sqlite');
    await tablet.page.keyboard.press('Escape');

    // Killed as soon as the page says that it is stored; twice in and out again, for the mark can be taken back.
    let stored = entries;
    const KILLS = 4;
    for (let i = 0; i < KILLS; ++i) {
        ({ entries: stored } = await enter(tablet, marks[i % 2 === 0 ? 2 : 1]));
        kill(where);
        await context.close().catch(() => {});
        context = await start(where, 1280, 800);
        tablet = await Tablet.open(context, url, FROM_FILE);
        await opened(tablet);
        state = (await tablet.report()).state;
        expect(state.entries >= stored, `kill ${i + 1}: ${state.entries} entries of ${stored} that were said to be stored`);
        expect(state.warning === '', state.warning);
        await tablet.stepOn();
        tablet.fine();
    }
    console.log(`kept: a reload in a step, ${KILLS} kills of the browser, none of ${stored} stored entries lost`);
    await context.close();
}

async function twoWindows(url, where) {
    const context = await start(where, 1280, 800);
    const both = async () => {
        const pair = [];
        for (let i = 0; i < 2; ++i) {
            pair.push(await Tablet.open(context, url, FROM_FILE));
            await opened(pair[i]);
            await pair[i].stepOn();
        }
        return pair;
    };
    const entriesIn = async (tablet) => (await tablet.atRest()).state.entries;
    const [one, other] = await both();
    await one.stepOn();
    const first = (await one.until((r) => r.state.stored, 'the first one\'s')).state.entries;
    await other.until((r) => r.state.entries === first, 'the other window hears of it', 20);

    // Neither hears of the other any more: who stores later finds out then, and keeps both.
    await context.addInitScript(() => { delete window.BroadcastChannel; });
    const [deaf, dumb] = await both();
    const mark = (await toMarks(deaf))[0];
    const second = (await deaf.until((r) => r.state.stored, 'what was entered on the way')).state.entries;
    expect(second > first && await entriesIn(dumb) === first, `the last one does not know: ${await entriesIn(dumb)} of ${second}`);
    await enter(dumb, (await dumb.control('next')).id);
    const whole = await entriesIn(dumb);
    expect(whole > second, `both are in it: ${whole} entries after ${second}`);
    await enter(deaf, mark);
    expect(await entriesIn(deaf) === whole + 1, `and in the other: ${await entriesIn(deaf)} after ${whole}`);
    await dumb.page.reload();
    await opened(dumb);
    expect(await entriesIn(dumb) === whole + 1, 'and in the storage');
    for (const tablet of [one, other, deaf, dumb]) tablet.fine();
    console.log('kept: two windows on one log, hearing of each other and not');
    await context.close();
}

/// A map made anew under the same name, with one torque changed: the log goes on, and says that the map is another.
async function changedMap(program, folder, map, out, where) {
    const own = join(out, 'changed');
    mkdirSync(own, { recursive: true });
    const copy = join(own, 'renewed.glb'), file = join(own, 'renewed.html');
    copyFileSync(map, copy);
    const write = () => execFileSync(program, ['page', copy, '-o', file, '--built', folder]);
    write();
    const context = await start(where, 1280, 800);
    const tablet = await Tablet.open(context, pathToFileURL(file).href, FROM_FILE);
    await opened(tablet);
    await tablet.stepOn();
    await tablet.stepOn();
    const { entries } = (await tablet.until((r) => r.state.stored, 'an entry')).state;
    execFileSync(program, ['set', copy, 'note=turned by hand first', '--node', 'pump_bolt_long_1', '-o', copy]);
    write();
    await tablet.page.reload();
    await opened(tablet);
    const { state } = await tablet.report();
    expect(state.entries === entries, `the log goes on in the changed map: ${state.entries} of ${entries}`);
    await context.close();
    // Another vehicle's map of that name has nothing to do with it.
    copyFileSync(join(map, '..', 'transfer_box.glb'), copy);
    write();
    const again = await start(where, 1280, 800);
    const other = await Tablet.open(again, pathToFileURL(file).href, FROM_FILE);
    await other.until((r) => r.state.open, 'the other map', 300);
    expect((await other.report()).state.entries === 0, 'another map of the same name begins its own');
    await again.close();
}

async function refusedAtAll(url, where) {
    // As a person sets it: no site may keep anything.
    mkdirSync(join(where, 'Default'), { recursive: true });
    writeFileSync(join(where, 'Default', 'Preferences'), JSON.stringify({ profile: { default_content_setting_values: { cookies: 2 } } }));
    const context = await start(where, 1280, 800);
    const tablet = await Tablet.open(context, url, FROM_FILE);
    await opened(tablet);
    await tablet.stepOn();
    let state = await tablet.stepOn();
    state = await tablet.stepOn();
    expect(state.entries > 0 && !state.stored && /keeps nothing/.test(state.warning), 'it says so, and goes on: ' + JSON.stringify(state));
    expect((await tablet.report()).areas.warning[3] > 0, 'the warning stands in the window');
    await context.close();
}

async function noRoom(folder, map, where) {
    const server = await serve(folder);
    const context = await start(where, 1280, 800);
    // Before anything is stored: a browser asks only now and then how much room there is.
    const quota = await context.newCDPSession(await context.newPage());
    const origin = server.url.replace(/\/$/, '');
    await quota.send('Storage.overrideQuotaForOrigin', { origin, quotaSize: 1 });
    const tablet = await Tablet.open(context, server.url, new RegExp(`^(${server.url}|blob:)`));
    const choose = async () => {
        const chooser = tablet.page.waitForEvent('filechooser');
        await tablet.tap('file.choose');
        await (await chooser).setFiles(map);
        await opened(tablet);
    };
    await choose();
    await tablet.stepOn();
    await tablet.stepOn();
    let { state } = await tablet.until((r) => /no room/.test(r.state.warning), 'the warning', 20);
    expect(!state.stored && state.entries > 0, 'nothing is called stored: ' + JSON.stringify(state));
    state = await tablet.stepOn();
    expect(!state.stored && state.entries > 1, 'the walk goes on in memory: ' + JSON.stringify(state));
    // There is room again: what waited is stored, without a word of the person's.
    await quota.send('Storage.overrideQuotaForOrigin', { origin });
    ({ state } = await tablet.until((r) => r.state.stored && r.state.warning === '', 'stored after all', 30));
    await tablet.page.reload();
    await choose();
    expect((await tablet.report()).state.entries === state.entries, 'and there after a reload');
    tablet.fine();
    console.log('kept: where the browser keeps nothing, and where it has no room, it is said, and the walk goes on');
    await context.close();
    server.close();
}
