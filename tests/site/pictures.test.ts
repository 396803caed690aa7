import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { decode, encode } from 'fast-png';
import pixelmatch from 'pixelmatch';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, expect, inject, test } from 'vitest';
import { launch } from '../support/browser.ts';
import { desktop, openPage, phone } from '../support/page.ts';
import { serve } from '../support/serve.ts';

// The pages of the demo dam against pictures that somebody looked at. After a change that is meant: UPDATE_PICTURES=1, and look at them.

/** So many of a hundred pixels may differ: another version of the browser sets a letter elsewhere, a chart that is gone is more. */
const tolerated = 2;
const kept = fileURLToPath(new URL('pictures/', import.meta.url));
const found = fileURLToPath(new URL('../.reports/pictures/', import.meta.url));
const fresh = new Date('2026-11-23T08:00:00Z');
const small = { ...phone, deviceScaleFactor: 1 };

const pictures = [
  { name: 'overview', path: 'index.html', options: desktop },
  { name: 'overview-dark', path: 'index.html', options: { ...desktop, colorScheme: 'dark' } },
  { name: 'overview-phone', path: 'index.html', options: small },
  { name: 'overview-paper', path: 'index.html', options: desktop, paper: true },
  { name: 'map', path: 'map.html', options: desktop, part: 'figure' },
  { name: 'map-dark-phone', path: 'map.html', options: { ...small, colorScheme: 'dark' }, part: 'figure' },
  { name: 'timeline', path: 'stations/T07.html', options: desktop, part: '.zoomable figure' },
  { name: 'timeline-phone', path: 'stations/T07.html', options: small, part: '.zoomable figure' },
  { name: 'levels', path: 'log.html', options: desktop },
  { name: 'bases', path: 'network.html', options: desktop },
  { name: 'arrival', path: 'data.html', options: desktop },
] as const;

let browser: Browser;
let host: Awaited<ReturnType<typeof serve>>;
beforeAll(async () => {
  [browser, host] = await Promise.all([launch(), serve(inject('larkmoorSite'))]);
  mkdirSync(found, { recursive: true });
});
afterAll(async () => {
  await browser.close();
  await host.close();
});

test.each(pictures)('$name looks as it did', async ({ name, path, options, ...of }) => {
  const { page, close } = await openPage(browser, host.url + path, { ...options, bypassCSP: true }, fresh);
  if ('paper' in of) await page.emulateMedia({ media: 'print' });
  // Whether a face that is optional is there in time hangs on what else the machine does; here it is waited for.
  await page.route('**/*.html', async (route) => {
    const response = await route.fetch();
    const text = (await response.text()).replaceAll('font-display:optional', 'font-display:block');
    await route.fulfill({ response, body: text });
  });
  await page.reload();
  await page.evaluate(async () => {
    await Promise.all([...document.fonts].map((face) => face.load()));
    await document.fonts.ready;
  });
  const shot = 'part' in of ? page.locator(of.part).first() : page;
  const bytes = await shot.screenshot({ animations: 'disabled' });
  await close();
  if (process.env['UPDATE_PICTURES'] !== undefined) {
    mkdirSync(kept, { recursive: true });
    writeFileSync(join(kept, `${name}.png`), bytes);
    return;
  }
  const [was, is] = [readFileSync(join(kept, `${name}.png`)), bytes].map((png) => decode(png));
  const { width, height } = was!;
  expect({ width: is!.width, height: is!.height }, `size of ${name}`).toEqual({ width, height });
  const difference = new Uint8Array(width * height * 4);
  const rgba = ({ data, channels }: NonNullable<typeof was>): Uint8Array =>
    channels === 4
      ? Uint8Array.from(data)
      : Uint8Array.from({ length: width * height * 4 }, (_, i) =>
          i % 4 === 3 ? 255 : data[Math.floor(i / 4) * channels + (i % 4)]!,
        );
  const pixels = pixelmatch(rgba(was!), rgba(is!), difference, width, height, { threshold: 0.2 });
  const share = (100 * pixels) / (width * height);
  if (share > tolerated) {
    writeFileSync(join(found, `${name}.png`), bytes);
    writeFileSync(
      join(found, `${name}-difference.png`),
      encode({ width, height, data: difference, channels: 4 }),
    );
  }
  expect(share, `of ${name} per cent of the pixels; see ${found}`).toBeLessThanOrEqual(tolerated);
});
