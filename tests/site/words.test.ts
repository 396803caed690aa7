import { cp, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { siteFragments } from '@stillmark/dashboard/site-messages';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, inject, test } from 'vitest';
import { launch } from '../support/browser.ts';
import { mustRun, stillmark } from '../support/command.ts';
import { ownStrings, pagesIn, speakIn, textsOf, translateAll, unmarked } from '../support/marked-words.ts';
import { desktop, openPage } from '../support/page.ts';
import { template, templateFile } from '../support/words-template.ts';

let folder: string;
let browser: Browser;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-words-'));
  browser = await launch();
});
afterAll(async () => {
  await browser.close();
  await rm(folder, { recursive: true, force: true });
});

test('the template holds everything that a site says', async () => {
  // `npm run words` writes it anew.
  expect(await readFile(templateFile, 'utf8')).toBe(await template());
});

test('no sentence of a page is put together of fragments, and none chooses its forms as English does', async () => {
  expect(await siteFragments()).toEqual([]);
});

describe('every message marked', () => {
  let own: string[];
  let said: string[];
  const pages = new Map<string, string>();

  beforeAll(async () => {
    const [project, site, earlier] = ['project', 'site', 'earlier'].map((name) => join(folder, name));
    await cp(inject('larkmoorProject'), project!, { recursive: true });
    await translateAll(join(project!, 'marked.po'), (english, context) => {
      if (context === 'decimal sign') return '·';
      if (context === 'between thousands') return '’';
      if (context === 'minus sign') return '\u2012';
      return /\p{L}/u.test(english) ? `⟦${english}⟧` : english;
    });
    await speakIn(project!, 'marked.po');
    await mustRun(['snapshot', project!, '--out', earlier!, '--as-of', '2026-06-01T00:00:00Z']);
    const { out } = await mustRun(['snapshot', project!, '--out', site!, '--since', earlier!]);
    said = /In qtz: (\d+) of (\d+) messages are translated/.exec(out)!.slice(1);
    const by = ['--by', 'survey office of the project', '--at', '2026-11-23T09:00:00Z'];
    await mustRun(['release', project!, '--site', site!, ...by, '--out', join(folder, 'released')]);
    await mustRun(['publish', earlier!, '--to', join(folder, 'published')]);
    await mustRun(['publish', site!, '--to', join(folder, 'published')]);
    await mustRun(['portfolio', site!, '--out', join(folder, 'portfolio'), '--title', 'Larkmoor dam']);
    const records = ['site/snapshot.json', 'earlier/snapshot.json', 'published/versions/versions.json'].map(
      async (path): Promise<unknown> => JSON.parse(await readFile(join(folder, path), 'utf8')),
    );
    own = ownStrings([...(await Promise.all(records)), 'survey office of the project']);
    for (const path of await pagesIn(site!)) pages.set(path, await readFile(join(site!, path), 'utf8'));
    for (const path of ['released/index.html', 'portfolio/index.html', 'published/versions/index.html'])
      pages.set(path, await readFile(join(folder, path), 'utf8'));
  }, 240_000);

  test('no words stand outside of the marks on any page, but the project’s own', () => {
    expect(said[0]).toBe(said[1]);
    expect(pages.size).toBeGreaterThan(32);
    const left = [...pages].flatMap(([path, html]) =>
      [...new Set(unmarked(textsOf(html), own))].map((text) => `${path}: ${text}`),
    );
    expect(left).toEqual([]);
  });

  test('figures have the signs of the language, and dates its names', () => {
    const texts = textsOf(pages.get('stations/T07.html')!);
    expect(texts.some((text) => /17·1\u202f?mm|17·1/.test(text))).toBe(true);
    expect(texts.filter((text) => /^−?\d+\.\d+$/.test(text))).toEqual([]);
    expect(pages.get('index.html')).toContain('22 ⟦November⟧ 2026');
  });

  test('pages name their language', () => {
    for (const [path, html] of pages) expect(html, path).toContain('<html lang="qtz">');
  });

  test('scripts speak it too: out of date, and readings of a figure', async () => {
    const url = pathToFileURL(join(folder, 'site/stations/T07.html')).href;
    const { page, trouble, close } = await openPage(browser, url, desktop, new Date('2027-01-01T00:00:00Z'));
    await expect
      .poll(() => page.locator('.stale').textContent())
      .toMatch(/^⟦Out of date.*⟦; by the clock of this device that time has passed\.⟧$/);
    await page.locator('svg[data-from]').first().focus();
    await page.keyboard.press('ArrowLeft');
    await expect
      .poll(() => page.locator('.readout').first().textContent())
      .toMatch(/^⟦near ⟧\d+ ⟦\w+⟧ 2026.*\d·\d/);
    expect(trouble).toEqual([]);
    await close();
  });
});

test('a file that can be had as an example says the main sentences in German', async () => {
  const [project, site] = [join(folder, 'german-project'), join(folder, 'german')];
  await cp(inject('larkmoorProject'), project, { recursive: true });
  await cp(
    fileURLToPath(new URL('../../apps/cli/docs/words.de.po', import.meta.url)),
    join(project, 'words.de.po'),
  );
  await speakIn(project, 'words.de.po');
  const { out, err } = await mustRun(['snapshot', project, '--out', site]);
  expect(err).not.toContain('WORDS_MESSAGE');
  // What is told on the terminal stays English.
  expect(out).toContain('T07 has moved.');
  expect(out).toMatch(/In de: \d+ of \d+ messages are translated, the rest is English\./);
  const index = textsOf(await readFile(join(site, 'index.html'), 'utf8')).join('\n');
  expect(index).toContain('T07 hat sich bewegt.');
  expect(index).toMatch(
    /T07 hat sich um 17,1 mm ± 2,2 mm \(95 %\) in Richtung 164° gegenüber der Referenzposition vom 1\. bis 29\. September 2025 bewegt; in der Höhe ist keine Bewegung nachweisbar: 11 mm wären in 8 von 10 Fällen erkannt worden\./,
  );
  // Statements are the same in any language.
  expect(await readFile(join(site, 'snapshot.json'), 'utf8')).toContain('"title": "Larkmoor dam"');
  // Names of months and the decimal sign as CLDR has them, in the version of the Node that runs the test.
  const cldr = new Intl.DateTimeFormat('de', { dateStyle: 'long', timeZone: 'UTC' });
  expect(index).toContain(cldr.format(new Date('2026-11-22T23:00:00Z')));
  expect(new Intl.NumberFormat('de').format(17.1)).toBe('17,1');

  // A translation that lost its figure is told with its line, and is not used.
  const file = join(project, 'words.de.po');
  await writeFile(
    file,
    (await readFile(file, 'utf8')).replace('"{0} hat sich bewegt."', '"Es hat sich bewegt."'),
  );
  const { code, err: told } = await stillmark(['check', project]);
  expect(code).toBe(0);
  expect(told).toMatch(
    /words\.de\.po:\d+ warning WORDS_MESSAGE\s+a translation is not used: it leaves out \{0\}/,
  );
}, 120_000);

test('translations that would do something are text', async () => {
  const hostile = '<script>window.hit=1</script><img src=x onerror=window.hit=1>"\'`';
  const [project, site] = [join(folder, 'hostile-project'), join(folder, 'hostile')];
  await cp(inject('demoProject'), project, { recursive: true });
  await translateAll(join(project, 'hostile.po'), (english, context) =>
    context?.endsWith('sign') || context === 'between thousands' || !/\p{L}/u.test(english)
      ? english
      : hostile,
  );
  await speakIn(project, 'hostile.po');
  await mustRun(['snapshot', project, '--out', site, '--single-file', join(folder, 'hostile.html')]);
  for (const path of ['hostile.html', ...(await pagesIn(site)).map((page) => `hostile/${page}`)]) {
    const url = pathToFileURL(join(folder, path)).href;
    const { page, trouble, close } = await openPage(browser, url, desktop, new Date('2027-01-01T00:00:00Z'));
    const found = await page.evaluate(() => ({
      hit: 'hit' in globalThis,
      images: document.images.length,
      scripts: [...document.scripts].filter((s) => s.textContent.startsWith('window.hit')).length,
      handlers: [...document.querySelectorAll('*')].filter((e) => e.hasAttribute('onerror')).length,
    }));
    if (path.endsWith('map.html')) {
      await page.locator('[data-time]').press('ArrowLeft');
      expect(await page.evaluate(() => document.images.length)).toBe(0);
    }
    expect({ path, trouble, ...found }).toEqual({
      path,
      trouble: [],
      hit: false,
      images: 0,
      scripts: 0,
      handlers: 0,
    });
    await close();
  }
}, 120_000);
