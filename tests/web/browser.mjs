// A real Chromium with a touch screen, and what the page says of itself (viewer/panels/seen.hpp).
import { chromium } from 'playwright-core';
import { createServer } from 'node:http';
import { readFile } from 'node:fs/promises';
import { extname, join, normalize } from 'node:path';

export function expect(holds, what) {
    if (!holds) throw new Error(what);
}

/// The browser's own profile lies in `profile`, so that what a page keeps outlives a start.
export async function start(profile, width, height, ratio = 1) {
    const context = await chromium.launchPersistentContext(profile, {
        executablePath: '/usr/bin/chromium',
        args: ['--no-sandbox', '--use-angle=swiftshader', '--enable-unsafe-swiftshader', '--ignore-gpu-blocklist'],
        viewport: { width, height },
        deviceScaleFactor: ratio,
        hasTouch: true,
    });
    // An emulated ratio is not in the size that a box has in the display's own pixels; without it the page multiplies.
    if (ratio !== 1) await context.addInitScript(() => { delete ResizeObserverEntry.prototype.devicePixelContentBoxSize; });
    await context.addInitScript(() => {
        window.longestTask = 0;
        new PerformanceObserver((list) => {
            for (const task of list.getEntries()) window.longestTask = Math.max(window.longestTask, Math.round(task.duration));
        }).observe({ type: 'longtask', buffered: true });
        // Only words and buttons are drawn within a scissor box, and those never without the letters' texture: black.
        const { bindTexture, drawElements } = WebGL2RenderingContext.prototype;
        let bound = null;
        WebGL2RenderingContext.prototype.bindTexture = function (target, texture) {
            if (target === this.TEXTURE_2D) bound = texture;
            bindTexture.call(this, target, texture);
        };
        WebGL2RenderingContext.prototype.drawElements = function (...all) {
            if (bound === null && this.isEnabled(this.SCISSOR_TEST)) console.error('drawn without letters');
            drawElements.apply(this, all);
        };
    });
    return context;
}

/// A page that must say no error, and that asks for nothing but `allowed`.
export class Tablet {
    static async open(context, url, allowed) {
        const page = await context.newPage();
        const tablet = new Tablet(page);
        page.on('console', (message) => { if (message.type() === 'error') tablet.wrong.push(message.text()); });
        page.on('pageerror', (error) => tablet.wrong.push(String(error)));
        page.on('request', (request) => { if (!allowed.test(request.url())) tablet.wrong.push('asked for ' + request.url()); });
        tablet.fingers = await context.newCDPSession(page);
        await page.goto(url);
        return tablet;
    }
    constructor(page) {
        this.page = page;
        this.wrong = [];
    }
    report() {
        return this.page.evaluate(() => window.boltwalkReport ? window.boltwalkReport() : null);
    }
    /// The report once something holds of it.
    async until(holds, what, seconds = 120) {
        const end = Date.now() + seconds * 1000;
        for (;;) {
            const report = await this.report();
            if (report && holds(report)) return report;
            if (Date.now() > end) throw new Error(`${what}: not within ${seconds} s; ${JSON.stringify(report && report.state)}`);
            await this.page.waitForTimeout(30);
        }
    }
    atRest() {
        return this.until((r) => r.idle && r.state.opening === null, 'at rest');
    }
    /// A picture of the page once no frame is drawn any more.
    async picture(path) {
        await this.atRest();
        return this.page.screenshot({ path });
    }
    async control(id) {
        const report = await this.until((r) => r.controls.some((c) => c.id === id && c.enabled), `a control ${id}`);
        return report.controls.find((c) => c.id === id);
    }
    async touch(type, ...points) {
        await this.fingers.send('Input.dispatchTouchEvent', {
            type, touchPoints: points.map(([x, y, id = 0, radius = 5]) => ({ x, y, id, radiusX: radius, radiusY: radius })),
        });
    }
    /// Comes back when all that follows from the tap was drawn.
    async tapAt(x, y) {
        await this.touch('touchStart', [x, y]);
        await this.touch('touchEnd');
        await this.atRest();
    }
    async tap(id) {
        const { box: [x, y, w, h] } = await this.control(id);
        await this.tapAt(x + w / 2, y + h / 2);
    }
    /// A file from somewhere else, let go of over the page. `bytes`: a text, or numbers.
    drop(name, type, bytes) {
        return this.page.evaluate(([name, type, bytes]) => {
            const data = new DataTransfer();
            data.items.add(new File([typeof bytes === 'string' ? bytes : new Uint8Array(bytes)], name, { type }));
            document.dispatchEvent(new DragEvent('drop', { dataTransfer: data, bubbles: true, cancelable: true }));
        }, [name, type, bytes]);
    }
    /// Taps the main action until the step or the way has changed; cautions are read on the way.
    async stepOn() {
        const before = (await this.atRest()).state;
        for (let i = 0; i < 60; ++i) { // those that follow one another too soon count for nothing
            await this.tap('next');
            const now = (await this.atRest()).state;
            if (now.at !== before.at || now.way !== before.way || now.start_read !== before.start_read) return now;
        }
        throw new Error(`the main action leads no further from ${JSON.stringify(before)}`);
    }
    fine() {
        expect(this.wrong.length === 0, this.wrong.join('\n'));
    }
}

const TYPES = { '.html': 'text/html', '.wasm': 'application/wasm', '.js': 'text/javascript', '.webmanifest': 'application/manifest+json', '.svg': 'image/svg+xml' };

/// The built folder on localhost; what is not in it is looked for in the others.
export async function serve(...folders) {
    const server = createServer(async (request, answer) => {
        const path = normalize(decodeURIComponent(new URL(request.url, 'http://localhost').pathname));
        try {
            let bytes = null;
            for (const folder of folders) bytes ??= await readFile(join(folder, path.endsWith('/') ? path + 'index.html' : path)).catch(() => null);
            if (bytes === null) throw new Error('not there');
            answer.writeHead(200, { 'Content-Type': TYPES[extname(path)] || (path.endsWith('/') ? 'text/html' : 'application/octet-stream') });
            answer.end(bytes);
        } catch {
            answer.writeHead(404).end();
        }
    });
    await new Promise((done) => server.listen(0, '127.0.0.1', done));
    return { url: `http://localhost:${server.address().port}/`, close: () => server.close() };
}
