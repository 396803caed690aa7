// The pictures of the README, from the demo: node scripts/pictures.mjs (after npm run demo).
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';
import { ensureChromium } from './chromium.mjs';
import { top } from './run.mjs';

const site = join(top, 'demo/site');
const folder = join(top, 'data/pictures');
mkdirSync(folder, { recursive: true });

const browser = await chromium.launch({
  executablePath: ensureChromium(),
  args: ['--no-sandbox', '--disable-gpu'],
});
const context = await browser.newContext({ viewport: { width: 1080, height: 1140 }, deviceScaleFactor: 1 });
const page = await context.newPage();
// A day on which the figures are valid.
await page.clock.setFixedTime(new Date('2026-11-23T08:00:00Z'));
for (const [path, picture, selector] of [
  ['index.html', 'overview.png', undefined],
  ['map.html', 'map.png', '[data-walk] .at-wide'],
]) {
  await page.goto(pathToFileURL(join(site, path)).href);
  await page.evaluate(() => document.fonts.ready.then(() => undefined));
  if (selector === undefined) await page.screenshot({ path: join(folder, picture) });
  else
    await page
      .locator(selector)
      .first()
      .screenshot({ path: join(folder, picture) });
}
await browser.close();
