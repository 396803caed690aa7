import { existsSync, readFileSync, readdirSync } from 'node:fs';
import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, inject, test } from 'vitest';
import { launch } from '../support/browser.ts';
import { stillmark } from '../support/command.ts';
import { serve } from '../support/serve.ts';

const larkmoor = inject('larkmoorSite');
let browser: Browser;
let host: Awaited<ReturnType<typeof serve>>;
let folder: string;
beforeAll(async () => {
  [browser, host, folder] = await Promise.all([
    launch(),
    serve(larkmoor, '/a dam/', { ranges: true }),
    mkdtemp(join(tmpdir(), 'stillmark-site-')),
  ]);
});
afterAll(async () => {
  await browser.close();
  await host.close();
  await rm(folder, { recursive: true, force: true });
});

async function open(url: string): Promise<{ page: Page; context: BrowserContext; trouble: string[] }> {
  const context = await browser.newContext({ viewport: { width: 1440, height: 900 }, acceptDownloads: true });
  const page = await context.newPage();
  const trouble: string[] = [];
  page.on('console', (message) => trouble.push(message.text()));
  page.on('pageerror', (error) => trouble.push(error.message));
  await page.clock.install({ time: new Date('2026-11-23T08:00:00Z') });
  await page.goto(url);
  return { page, context, trouble };
}

interface Tested {
  readonly distinguishable: boolean;
}

const mapFile = pathToFileURL(join(larkmoor, 'map.html')).href;

describe('the map under the hand, opened from a folder', () => {
  test('the slider shows single means of its date, the reference another one, and the present comes back byte for byte', async () => {
    const { page, context, trouble } = await open(mapFile);
    const section = page.locator('[data-walk]');
    const movements = section.locator('.at-wide .movements');
    const present = await movements.innerHTML();
    const note = section.locator('.zoom-note');
    await expect(note.innerText()).resolves.toBe('the present, as stated');
    const slider = section.locator('[data-time]');
    await slider.focus();
    // Back to the middle of the time, by keyboard: T07 had not yet moved.
    for (let i = 0; i < 40; i++) await page.keyboard.press('ArrowLeft');
    await expect(note.innerText()).resolves.toMatch(/^single means of \d+ \w+ 2026/);
    await expect(slider.getAttribute('aria-valuetext')).resolves.toMatch(/2026/);
    const arrow = (): Promise<number> =>
      movements.locator('.vector').evaluateAll((all) =>
        Math.max(...all.map((g) => {
          const shaft = g.querySelector('.shaft');
          return shaft instanceof SVGPathElement ? shaft.getTotalLength() : 0;
        })),
      ); // prettier-ignore
    const early = await arrow();
    await page.keyboard.press('End');
    const late = await arrow();
    expect(late).toBeGreaterThan(2 * early);
    // From the last date but one nearly nothing is left.
    const options = await section.locator('[data-reference] option').count();
    await section.locator('[data-reference]').selectOption({ index: options - 1 });
    expect(await arrow()).toBeLessThan(0.7 * late);
    await section.locator('[data-present]').click();
    expect(await movements.innerHTML()).toBe(present);
    expect(trouble).toEqual([]);
    await context.close();
  });

  test('figures of the slider are those of the series, and vectors twice as long stand over a scale half as long', async () => {
    const { page, context } = await open(mapFile);
    const section = page.locator('[data-walk]');
    const svg = section.locator('.at-wide svg');
    const bar = (): Promise<string> => svg.locator('.moved-scale text').evaluate((t) => t.textContent);
    const [, mm, px] = await Promise.all([
      Promise.resolve(),
      bar().then((text) => Number.parseFloat(text)),
      svg.locator('.moved-scale .scalebar').evaluate((p: SVGPathElement) => p.getBBox().width),
    ]);
    const pxPerMm = Number(await svg.getAttribute('data-px-per-mm'));
    expect(px / mm).toBeCloseTo(pxPerMm, 1);
    const ellipse = svg.locator('.vector.solid .ellipse').first();
    const before = Number(await ellipse.getAttribute('ry'));
    await section.locator('[data-factor]').selectOption('2');
    expect(Number(await ellipse.getAttribute('ry'))).toBeCloseTo(2 * before, 0);
    const wide = await svg
      .locator('.moved-scale .scalebar')
      .evaluate((p: SVGPathElement) => p.getBBox().width);
    expect(wide / Number.parseFloat(await bar())).toBeCloseTo(2 * pxPerMm, 1);
    await context.close();
  });

  test('marks are filled by the test of what is drawn: of the displacement, and of the rate', () => {
    const html = readFileSync(join(larkmoor, 'map.html'), 'utf8');
    const { stations } = JSON.parse(readFileSync(join(larkmoor, 'snapshot.json'), 'utf8')) as {
      stations: {
        id: string;
        statement: { kind: string; rate?: { horizontal: Tested; up?: Tested } };
      }[];
    };
    const filled = (figure: string): string[] => {
      const from = html.indexOf(`id="${figure}-title"`);
      const drawing = html.slice(from, html.indexOf('</svg>', from));
      return [...drawing.matchAll(/class="mark \w+ moved" data-id="(\w+)"/g)].map(([, id]) => id!).sort();
    };
    const moving = stations.flatMap(({ id, statement: { rate } }) =>
      rate && (rate.horizontal.distinguishable || rate.up?.distinguishable) ? [id] : [],
    );
    expect(moving.length).toBeGreaterThan(0);
    // Of what is in doubt no rate is drawn.
    const undoubted = moving.filter(
      (id) => !new RegExp(`class="mark \\w+ doubted" data-id="${id}"`).test(html),
    );
    expect(filled('map-rate-wide')).toEqual(undoubted.sort());
    expect(filled('map-wide')).toContain('T07');
    expect(html.slice(html.indexOf('id="map-rate-wide-title"'))).toMatch(
      /<title>T01: Over the last 60 days no rate is distinguishable/,
    );
  });

  test('play goes on by itself and stops', async () => {
    const { page, context } = await open(mapFile);
    const section = page.locator('[data-walk]');
    await section.locator('[data-play]').click();
    await page.clock.runFor(1100);
    expect(Number(await section.locator('[data-time]').inputValue())).toBe(3);
    await section.locator('[data-play]').click();
    await page.clock.runFor(2000);
    expect(Number(await section.locator('[data-time]').inputValue())).toBe(3);
    await context.close();
  });
});

describe('the way to a station', () => {
  test('is its id, typed; the span of the timeline goes along, also to its neighbours', async () => {
    const { page, context } = await open(
      `${host.url}stations/T07.html?from=2026-04-01&to=2026-05-01&axis=up`,
    );
    const figure = page.locator('.at-wide svg[data-from]');
    await expect
      .poll(() => figure.getAttribute('data-from'))
      .toBe(String(Date.parse('2026-04-01T00:00:00+01:00')));
    await expect(figure.locator('.panel').count()).resolves.toBe(1);
    await expect(figure.locator('.panel').getAttribute('data-name')).resolves.toBe('up');
    await expect
      .poll(() => page.locator('.neighbours a').first().getAttribute('href'))
      .toContain('from=2026-04-01');
    await page.locator('[data-find]').fill('t1');
    await page.keyboard.press('Enter');
    // Three stations begin so: nothing is guessed.
    expect(page.url()).toContain('T07.html');
    await page.locator('[data-find]').fill('t11');
    await page.keyboard.press('Enter');
    await page.waitForURL('**/stations/T11.html?from=2026-04-01&to=2026-05-01&axis=up');
    await expect(page.locator('h1').innerText()).resolves.toContain('T11');
    await context.close();
  });

  test('a link with a span or an axis that cannot be is a page as any other', async () => {
    const { page, context, trouble } = await open(
      `${host.url}stations/T07.html?from=<b>&to=9999-99-99&axis=constructor`,
    );
    await expect(page.locator('.at-wide svg[data-from]').count()).resolves.toBe(1);
    expect(trouble).toEqual([]);
    await context.close();
  });
});

test('every figure is offered as SVG and PNG, with its style in it, from a folder too', async () => {
  const { page, context, trouble } = await open(mapFile);
  const saved = async (kind: string): Promise<Buffer> => {
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      page
        .getByRole('button', { name: `Picture of this figure as ${kind}` })
        .first()
        .click(),
    ]);
    expect(download.suggestedFilename()).toMatch(/^Map-Larkmoor-dam-map-wide\.(svg|png)$/);
    return readFile(await download.path());
  };
  const svg = (await saved('SVG')).toString();
  // What a folder refuses is told, and the picture points to no file that it is parted from.
  expect(svg).toContain('Without the image under the map');
  expect(svg).not.toContain('<image');
  const shown = await browser.newPage();
  await shown.setContent(svg);
  // By itself, without the style sheet of the site, the vector of T07 has the colour of what moved.
  const [alone, there] = await Promise.all(
    [shown, page].map((p) =>
      p
        .locator('svg')
        .first()
        .evaluate((s: SVGElement) => getComputedStyle(s.querySelector('polygon')!).fill),
    ),
  );
  expect(alone).toBe(there);
  const png = await saved('PNG');
  expect(png.subarray(0, 8).toString('hex')).toBe('89504e470d0a1a0a');
  // Width in the header of a PNG (W3C PNG, 11.2.2): twice that of the drawing.
  expect(png.readUInt32BE(16)).toBe(1760);
  await shown.close();
  expect(trouble).toEqual([]);
  await context.close();
});

test('on a host the picture of a map holds the image under it', async () => {
  const { page, context, trouble } = await open(`${host.url}map.html`);
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: 'Picture of this figure as SVG' }).first().click(),
  ]);
  const svg = await readFile(await download.path(), 'utf8');
  expect(svg).toMatch(
    /<g [^>]*filter="grayscale\(1\)"[^>]*>\s*<g [^>]*transform="matrix[^>]*><image [^>]*href="data:image\/png;base64,iVBOR/,
  );
  expect(svg).not.toContain('Without the image');
  expect(trouble).toEqual([]);
  await context.close();
});

describe('on paper and in the post', () => {
  test('the report holds every page, its links stay within it, and no id stands twice', () => {
    const html = readFileSync(join(larkmoor, 'report.html'), 'utf8');
    const ids = [...html.matchAll(/ id="([^"]+)"/g)].map(([, id]) => id!);
    expect(new Set(ids).size).toBe(ids.length);
    const links = [...html.matchAll(/ href="#([^"]+)"/g)].map(([, id]) => id!);
    expect(links.length).toBeGreaterThan(100);
    expect(links.filter((id) => !ids.includes(id))).toEqual([]);
    for (const name of readdirSync(join(larkmoor, 'stations')))
      expect(ids).toContain(`part-stations-${name.replace('.html', '')}`);
    for (const [, reference] of html.matchAll(/url\(#([^)]+)\)/g)) expect(ids).toContain(reference);
  });

  test('a Chromium prints it as PDF, on A4 and on letter, with page numbers in the foot', async () => {
    for (const [paper, size] of [['a4', [594.96, 841.92]], ['letter', [612, 792]]] as const) {
      const file = join(folder, `${paper}.pdf`);
      const printed = await stillmark(['report', inject('demoSite'), '--pdf', file, '--paper', paper], {
        env: { CHROMIUM_PATH: '/usr/bin/chromium' },
      });
      expect(printed, printed.err).toMatchObject({ code: 0 });
      const pdf = (await readFile(file)).toString('latin1');
      expect(pdf.slice(0, 5)).toBe('%PDF-');
      const [, width, height] = /\/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]/.exec(pdf)!;
      expect(Number(width)).toBeCloseTo(size[0], 0);
      expect(Number(height)).toBeCloseTo(size[1], 0);
      expect(pdf.match(/\/Type \/Page\b(?!s)/g)!.length).toBeGreaterThan(15);
      // No link of the document tells where on this machine the site lies.
      expect(pdf).toContain('/Annot');
      expect(pdf).not.toContain('file:');
    } // prettier-ignore
    const none = await stillmark([
      'report',
      larkmoor,
      '--pdf',
      join(folder, 'none.pdf'),
      '--chromium',
      '/nowhere',
    ]);
    expect(none.err).toContain('/nowhere cannot be run: ENOENT');
    expect(existsSync(join(folder, 'none.pdf'))).toBe(false);
  }, 180_000);

  test('printed pages tell where links lead that paper cannot follow, and where they are from', async () => {
    const told = (page: Page, selector: string, pseudo = '::after'): Promise<string[]> =>
      page.locator(selector).evaluateAll((all, p) => all.map((e) => getComputedStyle(e, p).content), pseudo);
    const { page, context } = await open(host.url + 'map.html');
    await expect(told(page, 'figcaption a[href$=".csv"]')).resolves.toEqual(['none']);
    await page.emulateMedia({ media: 'print' });
    await expect(told(page, 'figcaption a[href$=".csv"]')).resolves.toEqual(['" (tables/stations.csv)"']);
    await expect(told(page, 'footer .colophon')).resolves.toEqual([`" ${host.url}map.html"`]);
    await page.locator('main').evaluate((main) => {
      main.innerHTML += '<a id="out" href="https://example.org/norm">a norm</a>';
    });
    await expect(told(page, '#out')).resolves.toEqual(['" (https://example.org/norm)"']);
    // From a folder no page tells of the machine.
    await page.goto(mapFile);
    await expect(told(page, 'footer .colophon')).resolves.toEqual(['none']);
    await page.goto(pathToFileURL(join(larkmoor, 'report.html')).href + '?paper=a4');
    const leads = await page
      .locator('a[href]')
      .evaluateAll((all) => all.map((a) => a.getAttribute('href')!).filter((href) => !href.startsWith('#')));
    expect(leads).toEqual([]);
    await expect(page.locator('a[data-file="tables/stations.csv"]').count()).resolves.toBe(1);
    await context.close();
  });

  test('the overview in one file fetches nothing, tells when it is out of date, and allows what is written in it and no more', async () => {
    const project = inject('demoProject');
    const file = join(folder, 'one.html');
    const made = await stillmark(['snapshot', project, '--out', join(folder, 'site'), '--single-file', file, '--address', 'https://example.org/slope']); // prettier-ignore
    expect(made).toMatchObject({ code: 0 });
    const html = await readFile(file, 'utf8');
    expect(html).toContain('href="https://example.org/slope/network.html"');
    // On paper the address of the site stands once, and not behind each link to it.
    expect(html.match(/<a [^>]*href="https:[^>]*>/g)!.filter((a) => !a.includes('data-site'))).toEqual([]);
    expect(html.match(/data-address="https:\/\/example\.org\/slope\/?"/g)).toHaveLength(1);
    const context = await browser.newContext();
    const page = await context.newPage();
    const requests: string[] = [];
    page.on('request', (request) => requests.push(request.url()));
    page.on('console', (message) => requests.push(message.text()));
    await page.clock.setFixedTime(new Date('2027-01-01T00:00:00Z'));
    await page.goto(pathToFileURL(file).href);
    await page.evaluate(() => document.fonts.ready);
    await expect(page.locator('[role=alert]').innerText()).resolves.toContain('Out of date.');
    expect(await page.evaluate(() => document.fonts.check('600 20px "Source Serif 4"'))).toBe(true);
    expect(requests.filter((url) => !url.startsWith('data:'))).toEqual([pathToFileURL(file).href]);
    // Something that was put into the file later does not run.
    await page.setContent(html.replace('</body>', '<script>document.title = "changed"</script></body>'));
    expect(await page.title()).not.toBe('changed');
    await context.close();
  });
});
