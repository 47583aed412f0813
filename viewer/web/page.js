// The page's side in JavaScript: the canvas and its size, pointers, keys, files, the browser's storage, the worker.
// What any of it means is decided in C++ (web.cpp). `boltwalk` is the compiled program, `boltwalkMaps` what came with it.
'use strict';
(async () => {
    const at = (id) => document.getElementById(id);
    const surface = at('surface'), field = at('field'), picker = at('picker'), camera = at('camera'), notice = at('notice');

    // --- what everything waits for is asked for first: the program, compiled while it comes, and the map of the address
    function carried(element) {
        const text = atob(element.textContent.trim());
        const bytes = new Uint8Array(text.length);
        for (let i = 0; i < text.length; ++i) bytes[i] = text.charCodeAt(i);
        return bytes;
    }
    async function got(url) {
        const answer = await fetch(url);
        if (!answer.ok) throw new Error(url + ': ' + answer.status);
        return answer;
    }
    async function bytesOf(url) { return new Uint8Array(await (await got(url)).arrayBuffer()); }
    async function compile() {
        if (at('carried-program')) return WebAssembly.compile(carried(at('carried-program')));
        const answer = await got('boltwalk.wasm');
        // While it comes, where the server says what it is: the browser refuses it under another name.
        return answer.headers.get('content-type') === 'application/wasm' ? WebAssembly.compileStreaming(answer)
                                                                         : WebAssembly.compile(await answer.arrayBuffer());
    }
    /// Begun now, awaited later: that nobody waits for it yet is no error.
    function begun(promise) {
        promise.catch(() => {});
        return promise;
    }
    const maps = window.boltwalkMaps || [];
    const carriedMaps = [...document.querySelectorAll('.carried-map')];
    const asked = maps.indexOf(new URLSearchParams(location.search).get('map'));
    const compiling = begun(compile()), logsComing = BoltwalkLogs.open();
    const mapComing = carriedMaps.length === 0 && asked >= 0 ? begun(bytesOf(maps[asked])) : null;

    // --- words that only a page has to say, one at a time, each once
    const told = [];
    function tell(text) {
        told.push(text);
        if (notice.hidden) tellNext();
    }
    function tellNext() {
        notice.hidden = told.length === 0;
        if (!notice.hidden) notice.lastElementChild.textContent = told[0];
    }
    notice.firstElementChild.addEventListener('click', () => { told.shift(); tellNext(); });

    // --- the browser's storage: walks by map, the last map, settings
    function opened(request) {
        return new Promise((done, failed) => {
            request.onsuccess = () => done(request.result);
            request.onerror = () => failed(request.error);
        });
    }
    let store = null;
    try {
        const request = indexedDB.open('boltwalk', 1);
        request.onupgradeneeded = () => request.result.createObjectStore('kept');
        store = await opened(request);
    } catch (refused) {
        tell('This browser keeps nothing for this page: after a reload the walk begins at the start. A window that is not ' +
             'private, with site data allowed, keeps it.');
    }
    const kept = (key) => store ? opened(store.transaction('kept').objectStore('kept').get(key)).catch(() => undefined) : undefined;
    let refusedOnce = false;
    function keep(key, value) {
        if (!store) return;
        try {
            const doing = store.transaction('kept', 'readwrite');
            doing.objectStore('kept').put(value, key);
            doing.onabort = () => {
                if (!refusedOnce) tell('This browser has no room left to keep where you are or what you mark up. Free some space on it, note the step, save the model.');
                refusedOnce = true;
            };
            if (doing.commit) doing.commit();
        } catch (closed) { store = null; }
    }

    // --- the log of the map that is open (logs.js)
    const logs = await logsComing;
    let log = null, logsReady = []; // those put ready for the map that is coming
    const heard = window.BroadcastChannel ? new BroadcastChannel('boltwalk logs') : null;
    if (heard) heard.onmessage = ({data}) => { if (log && log.id === data) log.look(); };
    async function putLogsReady(key, name) {
        const found = [];
        if (logs.refused) return found;
        try {
            for (const id of await logs.idsFor(key, name)) {
                if (log && log.id === id) { // its file holds what the storage may not have yet
                    found.push(log);
                    continue;
                }
                const one = new BoltwalkLog(logs, program.FS, id, name, key, (asked, refusal) => {
                    program.ccall('page_log_answer', null, ['number', 'string'], [asked, refusal]);
                    if (heard && !refusal) heard.postMessage(id);
                }, () => call('page_log_news'));
                await one.takeIn();
                found.push(one);
            }
        } catch (refused) { return []; }
        return found;
    }

    // --- the program
    let compiled;
    try { compiled = await compiling; } catch (missing) {
        tell(location.protocol === 'file:'
            ? 'From a file, a browser lets this page read nothing beside it. Make one file that holds everything: boltwalk page MAP -o F.html'
            : 'The page could not be loaded whole: ' + missing.message + '. Load it again.');
        return;
    }
    const instantiateWasm = (imports, done) => {
        WebAssembly.instantiate(compiled, imports).then((instance) => done(instance, compiled));
        return {};
    };

    function loadDown(path, name, type) {
        const link = document.createElement('a');
        link.href = URL.createObjectURL(new Blob([program.FS.readFile(path)], {type}));
        link.download = name;
        link.click();
        setTimeout(() => URL.revokeObjectURL(link.href), 60000);
    }
    let map = null, coming = null; // {key, files: [{name, bytes}]}: what is open, what is being opened
    let worker = null;
    let lock = null, lockAsked = false;
    const page = {
        save(walk, settings) {
            if (map && walk) keep('walk ' + map.key, walk);
            keep('settings', settings);
        },
        opened(title) {
            document.title = title ? title + ' - Boltwalk' : 'Boltwalk';
            map = coming;
            coming = null;
            keep('map', map);
        },
        logChosen(path) {
            if (log) log.closed = true;
            log = logsReady.find((one) => one.path === path);
            log.closed = false;
            return log.asked > log.done ? 1 : 0;
        },
        logStore(asked) {
            // So that the browser does not clear it when it needs room: asked once there is something to keep.
            if (log.turn === 0 && navigator.storage && navigator.storage.persist) navigator.storage.persist().catch(() => {});
            log.store(asked);
        },
        /// The same file that the desktop keeps beside its map.
        logCopy(name) { loadDown(log.path, name, 'application/vnd.sqlite3'); },
        /// What is kept beside the file of a model being marked up; gone once it is saved.
        marked(path) { keep('marking ' + map.key, program.FS.analyzePath(path).exists ? program.FS.readFile(path) : null); },
        savedMap(path) { loadDown(path, nameOf(path), 'model/gltf-binary'); },
        /// What was marked up and saved is walked through from here on; what a .gltf takes from beside it comes along.
        openSaved(path) {
            const saved = {name: nameOf(path), bytes: program.FS.readFile(path)};
            openFiles([saved, ...map.files.filter((file) => !/\.(glb|gltf)$/i.test(file.name))]);
        },
        workOut,
        stopWork: stopWorker,
        wake,
        walking(on, night) {
            document.body.className = night ? 'night' : '';
            stayAwake(on);
        },
        field(text, hint, x, y, w, h, size) {
            field.hidden = false;
            field.value = text;
            field.placeholder = hint;
            field.style.fontSize = size * 0.8 + 'px';
            page.fieldAt(x, y, w, h, 0, 0);
            field.focus();
        },
        fieldAt(x, y, w, h, above, below) {
            Object.assign(field.style, {left: x + 'px', top: y + 'px', width: w + 'px', height: h + 'px',
                clipPath: `inset(${above}px 0 ${below}px 0)`});
        },
        fieldGone() {
            field.hidden = true;
            surface.focus();
        },
        choose() { picker.click(); },
        choosePhoto() { camera.click(); },
        hasVoice() { return 'speechSynthesis' in window; },
        say(text) {
            if (!page.hasVoice()) return;
            speechSynthesis.cancel();
            if (!text) return;
            const words = new SpeechSynthesisUtterance(text);
            words.lang = 'en';
            speechSynthesis.speak(words);
        },
        fetchMap(which) { openComing(maps[which], bytesOf(maps[which])); },
    };
    const program = await boltwalk({page, instantiateWasm});
    program.FS.mkdir('/log');
    const call = (name, ...values) => program['_' + name](...values);
    /// A call whose last arguments are texts.
    function withText(name, ...texts) {
        return program.ccall(name, null, texts.map(() => 'string'), texts);
    }
    withText('page_start', (await kept('settings')) || '');
    // For a test: what is on the screen, and whether another frame is to come.
    window.boltwalkReport = () => ({...JSON.parse(program.ccall('page_report', 'string', [], [])), idle: !waiting && drawn});

    // --- frames: none while nothing changes, and none before the map that comes with the page was read, unless that takes
    // a while. Until then nothing is drawn with: a browser that was only just started takes long to give that.
    let waiting = false, first = true, shown = false, drawn = false;
    function draw() {
        if (drawn) return;
        drawn = true;
        const refusal = program.ccall('page_draw', 'string', [], []);
        if (refusal) tell(refusal);
        wake();
    }
    function wake() {
        if (waiting || !drawn) return;
        waiting = true;
        requestAnimationFrame(frame);
    }
    function frame(now) {
        waiting = false;
        if (call('page_frame', now / 1000)) wake();
        if (first) {
            first = false;
            performance.mark('boltwalk first frame');
        }
        if (!shown && call('page_drawings') > 0) {
            shown = true;
            performance.mark('boltwalk first drawing');
        }
    }
    function resize(entries) {
        const box = surface.getBoundingClientRect();
        const ratio = window.devicePixelRatio || 1;
        const exact = entries && entries[0].devicePixelContentBoxSize;
        const width = exact ? exact[0].inlineSize : Math.round(box.width * ratio);
        const height = exact ? exact[0].blockSize : Math.round(box.height * ratio);
        if (width < 1 || height < 1) return;
        if (surface.width !== width) surface.width = width;
        if (surface.height !== height) surface.height = height;
        call('page_resize', box.width, box.height, width, height);
    }
    const watch = new ResizeObserver(resize);
    try { watch.observe(surface, {box: 'device-pixel-content-box'}); } catch (unknown) { watch.observe(surface); }
    resize();
    surface.addEventListener('webglcontextlost', (event) => { event.preventDefault(); call('page_context', 0); });
    surface.addEventListener('webglcontextrestored', () => call('page_context', 1));
    document.addEventListener('visibilitychange', () => {
        if (document.visibilityState !== 'visible') return;
        wake();
        if (log) log.look();
        if (lockAsked) stayAwake(true);
    });

    // --- installed and offline, where the browser allows it; one file that carries everything needs neither
    if (!at('carried-program')) {
        const link = document.createElement('link');
        link.rel = 'manifest';
        link.href = 'manifest.webmanifest';
        document.head.append(link);
        if (navigator.serviceWorker) navigator.serviceWorker.register('offline.js').catch(notKept);
        else notKept();
    }
    function notKept() {
        tell('This browser does not keep this page: without the network it does not open again. It keeps it when the address ' +
             'begins with https, or take the map along as one file: boltwalk page MAP -o F.html');
    }

    // --- the screen stays on while walking
    async function stayAwake(on) {
        lockAsked = lockAsked || on;
        if (!on || (lock && !lock.released)) return;
        try {
            lock = await navigator.wakeLock.request('screen');
        } catch (refused) {
            if (document.visibilityState === 'visible' && !stayAwake.told)
                tell('This browser does not keep the screen on for this page. Set the tablet\'s screen to stay on for as long ' +
                     'as it can, or open the page from a file or by https.');
            stayAwake.told = true;
        }
    }

    // --- pointers
    const KINDS = {pointerdown: 0, pointermove: 1, pointerup: 2, pointercancel: 3};
    const TOOLS = {mouse: 0, touch: 1, pen: 2};
    const BUTTONS = [0, 2, 1]; // the browser counts the middle one second
    for (const name of Object.keys(KINDS))
        surface.addEventListener(name, (event) => {
            event.preventDefault();
            if (name === 'pointerdown') {
                if (!field.hidden) field.blur();
                surface.focus();
                try { surface.setPointerCapture(event.pointerId); } catch (gone) { /* lifted already */ }
            }
            call('page_pointer', KINDS[name], TOOLS[event.pointerType] ?? 1, event.pointerId, event.clientX, event.clientY,
                 event.pointerType === 'touch' ? Math.max(event.width, event.height) : 0, BUTTONS[event.button] ?? -1);
        });
    surface.addEventListener('pointerleave', (event) => {
        if (event.pointerType === 'mouse' && event.buttons === 0)
            call('page_pointer', 3, 0, event.pointerId, event.clientX, event.clientY, 0, -1);
    });
    surface.addEventListener('wheel', (event) => {
        event.preventDefault();
        call('page_wheel', -event.deltaY / (event.deltaMode === 0 ? 100 : 3));
    }, {passive: false});
    for (const name of ['contextmenu', 'gesturestart', 'touchstart'])
        surface.addEventListener(name, (event) => event.preventDefault(), {passive: false});

    // --- keys: GLFW's codes
    const CODES = {Space: 32, Slash: 47, Equal: 61, Minus: 45, Escape: 256, Enter: 257, Tab: 258, ArrowRight: 262, ArrowLeft: 263,
        ArrowDown: 264, ArrowUp: 265, PageUp: 266, PageDown: 267, Home: 268, End: 269, NumpadSubtract: 333, NumpadAdd: 334, NumpadEnter: 335};
    function codeOf(event) {
        if (/^F[1-7]$/.test(event.key)) return 289 + Number(event.key[1]);
        if (/^Digit[1-6]$/.test(event.code)) return 48 + Number(event.code[5]);
        if (/^[a-z]$/i.test(event.key)) return event.key.toUpperCase().charCodeAt(0);
        return CODES[event.code] ?? CODES[event.key] ?? 0;
    }
    document.addEventListener('keydown', (event) => {
        const code = codeOf(event);
        if (code === 0 || event.altKey || event.metaKey || notice.contains(event.target)) return;
        if (event.target === field && code !== 256 && code !== 258) return;
        if (event.target === field) field.blur();
        if (call('page_key', code, (event.shiftKey ? 1 : 0) | (event.ctrlKey ? 2 : 0), event.repeat ? 1 : 0)) event.preventDefault();
    });
    field.addEventListener('input', () => { withTyped(0); });
    field.addEventListener('keydown', (event) => { if (event.key === 'Enter') withTyped(1); });
    field.addEventListener('blur', () => { field.hidden = true; call('page_typed_out'); wake(); });
    function withTyped(entered) {
        program.ccall('page_typed', null, ['string', 'number'], [field.value, entered]);
        call('page_wake_up');
    }

    // --- maps
    function nameOf(path) { return path.split(/[\\/]/).pop() || 'map.glb'; }
    /// Tells one map from another; no secret, no seal.
    function keyOf(files) {
        let a = 0x811c9dc5, b = 0x01000193, size = 0;
        for (const file of files) {
            size += file.bytes.length;
            for (const byte of file.bytes) {
                a = Math.imul(a ^ byte, 0x01000193);
                b = Math.imul(b ^ (byte + 0x55), 0x85ebca6b);
            }
        }
        return [a, b, size].map((part) => (part >>> 0).toString(16)).join('-');
    }
    async function openFiles(files) {
        const main = files.find((file) => /\.(glb|gltf)$/i.test(file.name)) || files[0];
        const order = [main, ...files.filter((file) => file !== main)];
        const mine = coming = {key: '', files: order};
        ++opens;
        place(program, order);
        withText('page_open', '/map/' + main.name);
        if (!drawn) call('page_read_ahead');
        draw();
        // Behind its first frame: what the browser keeps of it. Before that is there, the program does not go into it.
        await new Promise((on) => requestAnimationFrame(() => setTimeout(on)));
        mine.key = keyOf(order);
        const [walk, marked, ready] = await Promise.all([kept('walk ' + mine.key), kept('marking ' + mine.key), putLogsReady(mine.key, main.name)]);
        if (coming !== mine) return;
        logsReady = ready;
        if (marked) program.FS.writeFile('/map/' + main.name + '.marking', marked);
        withText('page_resume', walk || '', ready.map((one) => one.path).join('\n'));
    }
    let opens = 0; // what was asked for last is what is opened, though something earlier may come later
    async function openComing(url, bytes) {
        const mine = ++opens;
        try {
            const files = [{name: nameOf(url), bytes: await bytes}];
            if (mine === opens) openFiles(files);
        } catch (failed) {
            if (mine === opens) withText('page_fail', 'Not loaded: ' + failed.message);
        }
    }
    function place(into, files) {
        try { into.FS.mkdir('/map'); } catch (there) { /* it is */ }
        for (const name of into.FS.readdir('/map'))
            if (name !== '.' && name !== '..') into.FS.unlink('/map/' + name);
        for (const file of files) into.FS.writeFile('/map/' + file.name, file.bytes);
    }
    /// In the program's memory no longer than it takes to be read; what was good is kept for the next time.
    function takeTools(name, bytes, again) {
        program.FS.writeFile('/' + name, bytes);
        const good = program.ccall('page_tools', 'number', ['string', 'number'], ['/' + name, again]);
        program.FS.unlink('/' + name);
        if (good && !again) keep('tools', {name, bytes});
    }
    async function taken(list) {
        const texts = [...list].filter((file) => /\.txt$/i.test(file.name)), files = [];
        for (const file of texts) takeTools(nameOf(file.name), new Uint8Array(await file.arrayBuffer()), 0);
        for (const file of list) if (!texts.includes(file)) files.push({name: nameOf(file.name), bytes: new Uint8Array(await file.arrayBuffer())});
        if (files.length > 0) openFiles(files);
    }
    picker.addEventListener('change', () => { taken(picker.files); });
    /// In the program's own memory, and no longer than it takes to be decoded.
    async function takePhoto(file) {
        const name = /\.[a-z]+$/i.test(file.name) ? nameOf(file.name) : 'photo.jpg', path = '/' + name;
        program.FS.writeFile(path, new Uint8Array(await file.arrayBuffer()));
        withText('page_photo', path);
        program.FS.unlink(path);
    }
    camera.addEventListener('change', () => {
        if (camera.files.length > 0) takePhoto(camera.files[0]);
        camera.value = ''; // the same one may be chosen again
    });
    document.addEventListener('dragover', (event) => event.preventDefault());
    document.addEventListener('drop', (event) => {
        event.preventDefault();
        const files = [...event.dataTransfer.files], pictures = files.filter((file) => file.type.startsWith('image/'));
        if (pictures.length > 0) pictures.forEach(takePhoto);
        else taken(files);
    });

    // --- what takes longer than a frame: a second instance of the program, beside this one
    function inWorker() {
        const end = new Uint8Array([10]); // Kind::end: without what could not be found
        self.onmessage = ({data}) => workOut(data).catch((failed) => { console.error('what the shapes say: ' + failed); self.postMessage(end); });
        async function workOut(data) {
            const program = await boltwalk({
                instantiateWasm(imports, done) {
                    WebAssembly.instantiate(data.compiled, imports).then((instance) => done(instance, data.compiled));
                    return {};
                },
                handOver(bytes) { self.postMessage(bytes, [bytes.buffer]); },
            });
            program.FS.mkdir('/map');
            for (const file of data.files) program.FS.writeFile('/map/' + file.name, file.bytes);
            program.ccall('work_out', null, ['string', 'string', 'number'], ['/map/' + data.files[0].name, data.room, data.from]);
        }
    }
    function stopWorker() {
        if (worker) worker.terminate();
        worker = null;
    }
    /// All of the map that is coming, or what is not there yet of the one that is open.
    function workOut(room, isComing, from) {
        stopWorker();
        const give = (bytes) => {
            const there = program._malloc(bytes.length);
            program.HEAPU8.set(bytes, there);
            call('page_take', there, bytes.length);
            program._free(there);
        };
        const without = () => { stopWorker(); give(new Uint8Array([10])); }; // Kind::end: without what it would have found
        try {
            const source = new Blob([at('program').textContent, '\n(', inWorker.toString(), ')();'], {type: 'text/javascript'});
            const url = URL.createObjectURL(source);
            worker = new Worker(url);
            const mine = worker;
            mine.onmessage = ({data}) => { if (mine === worker) give(data); };
            mine.onerror = without;
            mine.postMessage({compiled, files: (isComing ? coming : map).files, room, from});
        } catch (refused) { without(); }
    }

    // --- what is opened first: what this file carries, what the address names, what was open last
    for (const url of maps) withText('page_offer', nameOf(url).replace(/\.glb$/, '').replace(/_/g, ' '));
    setTimeout(draw, 300);
    if (carriedMaps.length > 0) openFiles(carriedMaps.map((element) => ({name: element.dataset.name, bytes: carried(element)})));
    else if (mapComing) openComing(maps[asked], mapComing);
    else {
        const last = await kept('map');
        if (last && last.files) openFiles(last.files);
        else draw();
    }
    const tools = await kept('tools');
    if (tools) takeTools(tools.name, tools.bytes, 1);
})();
