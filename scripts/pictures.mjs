// The pictures of the README and of the manuals, from the demo: node scripts/pictures.mjs (after npm run demo).
import { mkdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';
import { ensureChromium } from './chromium.mjs';
import { top } from './run.mjs';

const site = join(top, 'demo/site');

const browser = await chromium.launch({
  executablePath: ensureChromium(),
  args: ['--no-sandbox', '--disable-gpu'],
});
const context = await browser.newContext({ viewport: { width: 1080, height: 1140 }, deviceScaleFactor: 1 });
const page = await context.newPage();
// A day on which the figures are valid.
await page.clock.setFixedTime(new Date('2026-11-23T08:00:00Z'));
// A height cuts a drawing off below it.
for (const [path, picture, selector, height] of [
  ['index.html', 'data/pictures/overview.png', undefined],
  ['map.html', 'data/pictures/map.png', '[data-walk] .at-wide'],
  ['map.html', 'apps/cli/docs/pictures/map.png', '[data-walk] .at-wide'],
  ['stations/T07.html', 'apps/cli/docs/pictures/timeline.png', '.at-wide', 330],
]) {
  const file = join(top, picture);
  mkdirSync(dirname(file), { recursive: true });
  await page.goto(pathToFileURL(join(site, path)).href);
  await page.evaluate(() => document.fonts.ready.then(() => undefined));
  const place = selector === undefined ? undefined : await page.locator(selector).first().boundingBox();
  const clip = place && { ...place, height: height ?? place.height };
  await page.screenshot({ path: file, ...(clip ? { clip, fullPage: true } : {}) });
}
await browser.close();
