// The logs in the browser's storage. SQLite's file of a log lies in the program's memory; here the pieces of it that changed
// are put into IndexedDB, all of them or none in one transaction, and what was asked for is answered when that transaction is
// complete. Two windows on one log: each transaction looks first whether the file in the storage is still the one that it
// knew; where another window was there, its file is taken over, the program writes its own entries behind, and it is tried
// again. page.js puts this in front of itself.
'use strict';
const BOLTWALK_PIECE = 4096; // bytes; SQLite's own pages have that size

class BoltwalkLogs {
    /// Never fails: where the browser keeps nothing, `refused` says why.
    static async open() {
        const logs = new BoltwalkLogs();
        try { await logs.connect(); } catch (refused) { logs.refused = String(refused && refused.message || refused); }
        return logs;
    }
    constructor() {
        this.base = null;
        this.refused = '';
    }
    connect() {
        return new Promise((done, failed) => {
            const request = indexedDB.open('boltwalk logs', 1);
            request.onupgradeneeded = () => {
                request.result.createObjectStore('log');   // by id: {name, maps, turn, size}
                request.result.createObjectStore('piece'); // by [id, number]
            };
            request.onerror = () => failed(request.error);
            request.onsuccess = () => {
                this.base = request.result;
                this.base.onclose = () => { this.base = null; }; // the person cleared what this site keeps
                done();
            };
        });
    }
    /// The ids of the logs for a map: its own, or the one that would be made; then those of maps of that name, the newest first.
    async idsFor(map, name) {
        const all = await this.read((log) => ({heads: log.getAll(), ids: log.getAllKeys()}));
        const known = all.ids.map((id, i) => ({id, ...all.heads[i]}));
        const own = known.find((one) => one.maps.includes(map));
        if (own) return [own.id];
        const others = known.filter((one) => one.name === name).sort((a, b) => b.at - a.at);
        return [map, ...others.map((one) => one.id)];
    }
    /// {head, bytes}; no head: there is none.
    async get(id) {
        const {head, pieces} = await this.read((log, piece) => ({head: log.get(id), pieces: piece.getAll(IDBKeyRange.bound([id, 0], [id, Infinity]))}));
        if (!head) return {head: null, bytes: new Uint8Array(0)};
        const bytes = new Uint8Array(Math.max(head.size, pieces.length * BOLTWALK_PIECE));
        pieces.forEach((piece, i) => bytes.set(piece, i * BOLTWALK_PIECE));
        return {head, bytes: bytes.subarray(0, head.size)};
    }
    /// Results of all requests that `ask` makes, by their names.
    async read(ask) {
        if (!this.base) await this.connect();
        const doing = this.base.transaction(['log', 'piece']);
        const asked = ask(doing.objectStore('log'), doing.objectStore('piece'));
        await ended(doing);
        return Object.fromEntries(Object.entries(asked).map(([name, request]) => [name, request.result]));
    }
    /// False: another window was there since `turn`, and nothing was put.
    async put(id, turn, head, pieces) {
        if (!this.base) await this.connect();
        // Strict: complete means on the disk, not on its way there.
        const doing = this.base.transaction(['log', 'piece'], 'readwrite', {durability: 'strict'});
        const log = doing.objectStore('log');
        const now = log.get(id);
        let overtaken = false;
        now.onsuccess = () => {
            overtaken = (now.result ? now.result.turn : 0) !== turn;
            if (overtaken) return;
            for (const [number, bytes] of pieces) doing.objectStore('piece').put(bytes, [id, number]);
            log.put(head, id);
        };
        await ended(doing);
        return !overtaken;
    }
}

function ended(doing) {
    return new Promise((done, failed) => {
        doing.oncomplete = done;
        doing.onabort = () => failed(doing.error || new Error('it was stopped'));
    });
}

/// One log while its map is open. `files`: of the program; `answer(asked, refusal)`; `news()`: the file was exchanged.
class BoltwalkLog {
    constructor(logs, files, id, name, map, answer, news) {
        Object.assign(this, {logs, files, id, name, map, answer, news});
        this.path = '/log/' + id;
        this.turn = 0;
        this.maps = [];
        this.base = new Uint8Array(0); // as the storage has it
        this.asked = this.done = 0;
        this.busy = this.closed = false;
    }
    /// Puts the file where the program finds it; what lay there is another file from then on.
    async takeIn() {
        const {head, bytes} = await this.logs.get(this.id);
        this.turn = head ? head.turn : 0;
        this.maps = head ? head.maps : [];
        this.base = bytes;
        if (this.files.analyzePath(this.path).exists) this.files.unlink(this.path);
        if (head) this.files.writeFile(this.path, bytes);
    }
    store(asked) {
        this.asked = asked;
        this.goOn();
    }
    /// Another window has stored something.
    async look() {
        if (this.closed || this.busy || this.asked > this.done) return; // the next transaction finds out
        this.busy = true;
        try {
            const {head} = await this.logs.get(this.id);
            if (!this.closed && (head ? head.turn : 0) !== this.turn) {
                await this.takeIn();
                this.news();
            }
        } catch (gone) { /* said when something is to be stored */ }
        this.busy = false;
        this.goOn();
    }
    async goOn() {
        if (this.busy) return;
        this.busy = true;
        try {
            while (this.done < this.asked) await this.step();
        } catch (refused) {
            const full = refused && refused.name === 'QuotaExceededError';
            this.answer(this.asked, full ? 'This browser has no room left for the log.'
                                         : 'This browser does not store the log: ' + String(refused && refused.message || refused) + '.');
            clearTimeout(this.again);
            this.again = setTimeout(() => { if (!this.closed) this.goOn(); }, 5000);
        }
        this.busy = false;
    }
    async step() {
        const asked = this.asked, bytes = this.files.readFile(this.path), pieces = [];
        for (let at = 0; at < bytes.length; at += BOLTWALK_PIECE) {
            const piece = bytes.slice(at, at + BOLTWALK_PIECE), was = this.base.subarray(at, at + BOLTWALK_PIECE);
            if (piece.length !== was.length || piece.some((byte, i) => byte !== was[i])) pieces.push([at / BOLTWALK_PIECE, piece]);
        }
        const maps = this.maps.includes(this.map) ? this.maps : [...this.maps, this.map];
        const head = {name: this.name, maps, turn: this.turn + 1, size: bytes.length, at: Date.now()};
        if (await this.logs.put(this.id, this.turn, head, pieces)) {
            Object.assign(this, {turn: head.turn, maps, base: bytes, done: asked});
            this.answer(asked, '');
        } else {
            await this.takeIn();
            this.news();
        }
    }
}
