import { mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { source } from '@stillmark/data/synthetic/noise.ts';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, inject, test } from 'vitest';
import { header, idsOf, projectYaml, rowOf } from '../support/network.ts';
import { launch } from '../support/browser.ts';
import { mustRun } from '../support/command.ts';
import { desktop, openPage, phone } from '../support/page.ts';
import { serve } from '../support/serve.ts';

const larkmoor = inject('larkmoorSite');
const fresh = new Date('2026-11-23T08:00:00Z');
const day = 86_400_000;

let browser: Browser;
let host: Awaited<ReturnType<typeof serve>>;
let folder: string;
beforeAll(async () => {
  [browser, host, folder] = await Promise.all([
    launch(),
    serve(larkmoor, '/clients/a dam/'),
    mkdtemp(join(tmpdir(), 'stillmark-timeline-')),
  ]);
});
afterAll(async () => {
  await browser.close();
  await host.close();
  await rm(folder, { recursive: true, force: true });
});

const figureOf = (page: Page) => page.locator('.at-wide svg[data-from]');
const spanOf = (page: Page): Promise<[number, number]> =>
  figureOf(page).evaluate((svg: SVGElement) => [Number(svg.dataset['from']), Number(svg.dataset['to'])]);
/** Of a host the reader asks for the length of a file, and cancels where it is answered with the file. */
const unexpected = (trouble: readonly string[]): string[] =>
  trouble.filter((t) => !/^failed: .*\.parquet$/.test(t));
/** Waits until the hand has let go and the figure is drawn at its own scale. */
const settled = (page: Page): Promise<void> =>
  expect.poll(() => page.locator('.zoomable').getAttribute('class')).not.toContain('moving');

describe('a timeline under the hand', () => {
  const path = 'stations/T07.html';

  test('the pointer and the arrow keys read values from the drawing, on a page opened from a folder too', async () => {
    const { page, trouble, close } = await openPage(
      browser,
      pathToFileURL(join(larkmoor, path)).href,
      desktop,
      fresh,
    );
    const figure = page.locator('.at-wide svg[data-from]');
    await figure.evaluate((svg) => svg.scrollIntoView());
    const box = (await figure.boundingBox())!;
    await page.mouse.move(box.x + 0.9 * box.width, box.y + 0.3 * box.height);
    const readout = page.locator('.readout');
    await expect(readout.innerText()).resolves.toMatch(
      /^near \d+ October 2026, .*: longitudinal .*, downstream 1\d\.\d.*mm, up /,
    );
    await figure.focus();
    await page.keyboard.press('ArrowLeft');
    const before = await readout.innerText();
    await page.keyboard.press('ArrowLeft');
    expect(await readout.innerText()).not.toBe(before);
    expect(trouble).toEqual([]);
    await close();
  });

  test('on a host, a span is drawn from the Parquet series, and the whole comes back', async () => {
    const { page, trouble, close } = await openPage(browser, host.url + path, desktop, fresh);
    const figure = page.locator('.at-wide svg[data-from]');
    const whole = await figure.innerHTML();
    const from = await figure.getAttribute('data-from');
    await page.getByRole('button', { name: '30 days' }).click();
    // The page's clock stands still, and with it the polling of the driver.
    await expect.poll(() => figure.getAttribute('data-from')).not.toBe(from);
    const days = await figure.evaluate((svg: SVGElement) => {
      const { from, to } = svg.dataset;
      return (Number(to) - Number(from)) / 86_400_000;
    });
    expect(days).toBeCloseTo(30.3, 1);
    // Four means a day and panel, less two in the outage of its router: dots of their own, not columns any more.
    const dots = await figure.locator('.windows').first().getAttribute('d');
    expect(dots!.match(/M/g)!.length).toBe(118);
    await page.locator('[data-from][type=date]').fill('2026-04-01');
    await page.locator('[data-to][type=date]').fill('2026-05-01');
    await expect
      .poll(() => figure.getAttribute('data-from'))
      .toBe(String(Date.parse('2026-04-01T00:00:00+01:00')));
    await page.getByRole('button', { name: 'all' }).click();
    expect((await figure.innerHTML()).length).toBe(whole.length);
    expect(unexpected(trouble)).toEqual([]);
    await close();
  });

  test('a host that serves parts of files is asked for parts', async () => {
    const log: string[] = [];
    const parts = await serve(larkmoor, '/', { ranges: true, log });
    const { page, close } = await openPage(browser, parts.url + path, desktop, fresh);
    const figure = page.locator('.at-wide svg[data-from]');
    const from = await figure.getAttribute('data-from');
    await page.getByRole('button', { name: '7 days' }).click();
    await expect.poll(() => figure.getAttribute('data-from')).not.toBe(from);
    expect(log.some((line) => /^HEAD .*T07-epochs\.parquet$/.test(line))).toBe(true);
    expect(log.filter((line) => /T07-epochs.parquet bytes=\d+-\d+$/.test(line)).length).toBeGreaterThan(1);
    await close();
    await parts.close();
  });

  test('dragging goes along, the wheel with Ctrl keeps the instant under the pointer, keys do the same, and the link tells it', async () => {
    const { page, trouble, close } = await openPage(browser, host.url + path, desktop, fresh);
    const figure = figureOf(page);
    await page.getByRole('button', { name: '3 months' }).click();
    await expect.poll(async () => (([a, b]) => b - a)(await spanOf(page)) / day).toBeCloseTo(91.9, 1);
    await figure.evaluate((svg) => svg.scrollIntoView());
    const [from, to] = await spanOf(page);
    const box = (await figure.boundingBox())!;
    const [left, right] = await Promise.all(
      ['data-left', 'data-right'].map((name) => figure.getAttribute(name)),
    );
    const pixels = ((Number(right) - Number(left)) * box.width) / 880;
    await page.mouse.move(box.x + 300, box.y + 100);
    await page.mouse.down();
    for (let i = 1; i <= 10; i++) await page.mouse.move(box.x + 300 + 20 * i, box.y + 100);
    await page.mouse.up();
    await expect
      .poll(async () => (from - (await spanOf(page))[0]) / ((200 / pixels) * (to - from)))
      .toBeCloseTo(1, 2);
    await settled(page);
    // Letting go of the figure is no reading of it, and the page has not scrolled.
    expect((await figure.boundingBox())!.y).toBeCloseTo(box.y, 0);

    const before = await spanOf(page);
    const share = (box.width / 2 - (Number(left) * box.width) / 880) / pixels;
    const under = (span: readonly [number, number]): number => span[0] + share * (span[1] - span[0]);
    await page.mouse.move(box.x + box.width / 2, box.y + 100);
    await page.keyboard.down('Control');
    await page.mouse.wheel(0, -200);
    await page.keyboard.up('Control');
    await expect
      .poll(async () => (([a, b]) => b - a)(await spanOf(page)) / (before[1] - before[0]))
      .toBeCloseTo(0.5, 2);
    expect(Math.abs(under(await spanOf(page)) - under(before))).toBeLessThan(0.01 * day);
    // The wheel by itself scrolls the page.
    const there = await spanOf(page);
    await page.mouse.wheel(0, 50);
    await expect.poll(async () => (await figure.boundingBox())!.y).not.toBe(box.y);
    expect(await spanOf(page)).toEqual(there);

    await settled(page);
    await figure.focus();
    await page.keyboard.press('-');
    await page.keyboard.press('Shift+ArrowLeft');
    await expect
      .poll(async () => (before[0] - (await spanOf(page))[0]) / (before[1] - before[0]))
      .toBeCloseTo(0.5, 1);
    await settled(page);
    await expect.poll(() => page.evaluate(() => document.activeElement?.tagName)).toBe('svg');
    await expect.poll(() => page.url()).toMatch(/from=2026-0\d-\d\dT\d\d%3A\d\dZ&to=/);
    const linked = await spanOf(page);
    await page.reload();
    await expect.poll(async () => Math.abs((await spanOf(page))[0] - linked[0])).toBeLessThan(60_000);
    await figure.focus();
    await page.keyboard.press('0');
    await expect.poll(() => page.url()).not.toContain('from=');
    expect(unexpected(trouble)).toEqual([]);
    await close();
  });

  test('opened from a folder, the means are whole and epochs are told as the least and the greatest of hours', async () => {
    const { page, trouble, close } = await openPage(
      browser,
      pathToFileURL(join(larkmoor, path)).href,
      phone,
      fresh,
    );
    await page.locator('[data-days="30"]').click();
    const figure = page.locator('.at-narrow svg[data-from]');
    await expect
      .poll(() =>
        figure.evaluate(
          (svg: SVGElement) => (Number(svg.dataset['to']) - Number(svg.dataset['from'])) / 86_400_000,
        ),
      )
      .toBeCloseTo(30.3, 1);
    await expect(page.locator('.zoom-note').innerText()).resolves.toMatch(
      /^Opened from a folder, .* of each 4\.3 h, /,
    );
    const dots = await figure.locator('.windows').first().getAttribute('d');
    expect(dots!.match(/M/g)!.length).toBe(118);
    await expect(figure.locator('.strip').count()).resolves.toBeGreaterThan(1);
    await page.locator('[data-step=earlier]').click();
    await expect.poll(() => page.url()).toContain('to=2026-11-0');
    expect(trouble).toEqual([]);
    await close();
  });

  test('of a long series a level is fetched for a long span, and epochs for a short one', async () => {
    const [project, site] = [join(folder, 'long'), join(folder, 'long-site')];
    const ids = idsOf(1);
    const random = source(8);
    const endMs = Date.parse('2026-11-22T23:00:00Z');
    const rows = Array.from({ length: 40_000 }, (_, i) => {
      const enu = [0.003 * random.normal(), 0.003 * random.normal(), 0.006 * random.normal()] as const;
      return rowOf(ids, 0, endMs - (40_000 - i) * 300_000, enu);
    });
    await mkdir(join(project, 'positions'), { recursive: true });
    await writeFile(join(project, 'positions/all.csv'), header + rows.join(''));
    await writeFile(join(project, 'project.yaml'), projectYaml(ids, { epoch: '2026.0', processingInterval: '24 h' })); // prettier-ignore
    await mustRun(['ingest', project]);
    await mustRun(['snapshot', project, '--out', site]);
    const log: string[] = [];
    const parts = await serve(site, '/', { ranges: true, log });
    const asked = (what: RegExp): string[] =>
      log.filter((line) => what.test(line) && line.includes('bytes='));
    const { page, trouble, close } = await openPage(browser, `${parts.url}stations/T01.html`, desktop, fresh);
    await page.getByRole('button', { name: '3 months' }).click();
    await expect.poll(async () => (([a, b]) => b - a)(await spanOf(page)) / day).toBeCloseTo(91.9, 1);
    expect(asked(/T01-3840s\.parquet/).length).toBeGreaterThan(0);
    expect(asked(/T01-epochs/)).toEqual([]);
    await expect(figureOf(page).locator('.key').innerHTML()).resolves.toContain('epochs, least to greatest');
    await page.getByRole('button', { name: '7 days' }).click();
    await expect.poll(async () => (([a, b]) => b - a)(await spanOf(page)) / day).toBeCloseTo(7.07, 2);
    expect(asked(/T01-epochs/).length).toBeGreaterThan(0);
    expect(unexpected(trouble)).toEqual([]);
    await close();
    await parts.close();
  }, 60_000);

  test('all stations are shown over one span, on a host and from a folder, and it goes along to each of them', async () => {
    for (const url of [`${host.url}stations.html`, pathToFileURL(join(larkmoor, 'stations.html')).href]) {
      const { page, trouble, close } = await openPage(browser, url, desktop, fresh);
      const small = page.locator('#T07 .at-wide svg');
      const whole = await small.innerHTML();
      await page.locator('[data-from][type=date]').fill('2026-10-01');
      await expect.poll(() => small.innerHTML()).not.toBe(whole);
      const heights = await page
        .locator('.multiples .at-wide svg')
        .evaluateAll((all) => all.map((svg) => svg.querySelectorAll('.windows').length));
      // Thirteen stations with three axes; T12 has begun within it, and T02 is silent since.
      expect(heights.filter((n) => n === 3).length).toBe(heights.length);
      await expect(small.textContent()).resolves.toContain('Nov');
      await expect(small.textContent()).resolves.not.toContain('Jul');
      await page.locator('#T07 h2 a').click();
      await page.waitForURL('**/stations/T07.html?from=2026-10-01&to=2026-11-22');
      await expect.poll(async () => (await spanOf(page))[0]).toBe(Date.parse('2026-10-01T00:00:00+01:00'));
      await page.goBack();
      await page.waitForURL('**/stations.html?from=2026-10-01&to=2026-11-22');
      await page.getByRole('button', { name: 'all' }).click();
      await expect.poll(() => small.innerHTML()).toBe(whole);
      expect(unexpected(trouble)).toEqual([]);
      await close();
    }
  });
});
