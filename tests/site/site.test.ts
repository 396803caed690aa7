import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { gzipSync } from 'node:zlib';
import type { Browser, BrowserContextOptions } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, inject, test } from 'vitest';
import { launch } from '../support/browser.ts';
import { desktop, openPage, phone, violationsOf } from '../support/page.ts';
import { serve } from '../support/serve.ts';

const harrowfold = inject('demoSite');
const larkmoor = inject('larkmoorSite');
const pagesOf = (site: string): string[] =>
  readdirSync(site, { recursive: true, encoding: 'utf8' })
    .filter((f) => f.endsWith('.html'))
    .sort();
/** Of each state and each kind of page one: moved, still with a step tied out, silent, establishing, held; with and without axes. */
const seen = [
  ...[
    'index.html',
    'map.html',
    'stations.html',
    'log.html',
    'alarms.html',
    'methods.html',
    'report.html',
  ].map((path) => ({ site: larkmoor, path })),
  ...['B1', 'B2', 'T02', 'T04', 'T07', 'T12'].map((id) => ({ site: larkmoor, path: `stations/${id}.html` })),
  ...['index.html', 'map.html', 'stations/B1.html', 'stations/S2.html', 'stations/S3.html'].map((path) => ({
    site: harrowfold,
    path,
  })),
].map((page) => ({ ...page, name: `${page.site === larkmoor ? 'larkmoor' : 'harrowfold'}/${page.path}` }));
const fresh = new Date('2026-11-23T08:00:00Z');

let browser: Browser;
const hosts = new Map<string, Awaited<ReturnType<typeof serve>>>();
const urlOf = (site: string): string => hosts.get(site)!.url;
beforeAll(async () => {
  browser = await launch();
  for (const site of [harrowfold, larkmoor]) hosts.set(site, await serve(site, '/clients/a dam/'));
});
afterAll(async () => {
  await browser.close();
  for (const host of hosts.values()) await host.close();
});

const open = (url: string, options: BrowserContextOptions = desktop, now = fresh) =>
  openPage(browser, url, options, now);

/** The same instant in the zone of each project. */
const untilOf = (site: string): string =>
  site === harrowfold ? '25 November 2026, 00:00 UTC+01:00' : '24 November 2026, 23:00 UTC';

const fileUrl = (site: string, path: string): string => pathToFileURL(join(site, path)).href;

test('the site has an overview, a page for each station, and one for each question of the whole site', () => {
  expect(pagesOf(harrowfold)).toEqual([
    'alarms.html',
    'data.html',
    'index.html',
    'log.html',
    'map.html',
    'methods.html',
    'natural.html',
    'network.html',
    'pairs.html',
    'plan.html',
    'reference.html',
    'report.html',
    'stations.html',
    ...['B1', 'B2', 'S1', 'S2', 'S3'].map((id) => `stations/${id}.html`),
    'velocities.html',
  ]);
  expect(pagesOf(larkmoor).length).toBe(14 + 15);
});

describe.each(seen)('$name', ({ site, path }) => {
  test('opens from a folder: style, script and fonts load, nothing is refused, nothing comes from elsewhere', async () => {
    const { page, trouble, close } = await open(fileUrl(site, path));
    await page.evaluate(() => document.fonts.ready);
    const face = await page.evaluate(() => ({
      border: getComputedStyle(document.querySelector('.title-block')!).borderTopStyle,
      serif: document.fonts.check('600 20px "Source Serif 4"'),
    }));
    expect(face).toEqual({ border: 'double', serif: true });
    expect(trouble).toEqual([]);
    await close();
  });

  test('opens from a sub-path of a host, and every link leads somewhere', async () => {
    const { page, trouble, close } = await open(urlOf(site) + path);
    const links = await page.evaluate(() =>
      [...document.querySelectorAll('a')].map((a) => new URL(a.getAttribute('href')!, location.href).href),
    );
    expect(links.length).toBeGreaterThan(5);
    for (const link of new Set(links)) {
      expect(link.startsWith(urlOf(site)), link).toBe(true);
      const { pathname, hash } = new URL(link);
      const body = await (await page.request.get(link)).text();
      if (hash) expect(body.includes(`id="${hash.slice(1)}"`), `${pathname}${hash}`).toBe(true);
    }
    for (const link of new Set(links)) expect((await page.request.get(link)).status(), link).toBe(200);
    expect(trouble).toEqual([]);
    await close();
  });

  test('has no violation that axe-core finds, light and dark, at a desk and on a phone', async () => {
    for (const options of [desktop, { ...desktop, colorScheme: 'dark' as const }, phone]) {
      const { page, close } = await open(fileUrl(site, path), options);
      expect(await violationsOf(page)).toEqual([]);
      await close();
    }
  });

  test('does not scroll sideways on a phone, and what is touched is large enough', async () => {
    const { page, close } = await open(fileUrl(site, path), phone);
    const widths = await page.evaluate(() => ({
      content: document.documentElement.scrollWidth,
      window: innerWidth,
    }));
    expect(widths.content).toBeLessThanOrEqual(widths.window);
    const small = await page.evaluate(() =>
      [...document.querySelectorAll('nav a, tbody th a')]
        .map((a) => ({ text: a.textContent, height: a.getBoundingClientRect().height }))
        .filter((a) => a.height < 44),
    );
    expect(small).toEqual([]);
    await close();
  });

  test('is whole without JavaScript', async () => {
    const { page, close } = await open(fileUrl(site, path), { ...desktop, javaScriptEnabled: false });
    await expect(page.locator('[data-valid-until]').innerText()).resolves.toBe(untilOf(site));
    await expect(page.locator('main').innerText()).resolves.toMatch(/\w{4,}/);
    await close();
  });

  test('says loudly that it is out of date when it is, and only then', async () => {
    const late = await open(fileUrl(site, path), desktop, new Date('2026-11-24T23:00:01Z'));
    await expect(late.page.locator('[role=alert]').innerText()).resolves.toContain(
      `Out of date. These figures were valid until ${untilOf(site)}`,
    );
    await late.close();
    const inTime = await open(fileUrl(site, path), desktop, new Date('2026-11-24T22:59:59Z'));
    await expect(inTime.page.locator('[role=alert]').isVisible()).resolves.toBe(false);
    await inTime.close();
  });

  test('allows nothing inline but its one style, by its hash: the policy stands first, and no style attribute or inline script is there', () => {
    const html = readFileSync(join(site, path), 'utf8');
    expect(html).toMatch(
      /^<!DOCTYPE html>\s*<html lang="en">\s*<head>\s*<meta charset="utf-8">\s*<meta http-equiv="Content-Security-Policy" content="default-src 'none'; script-src 'self'/i,
    );
    expect(html).not.toMatch(/ style="|javascript:| on[a-z]+="/);
    const styles = [...html.matchAll(/<style>(.*?)<\/style>/gs)].map(([, css]) => css!);
    expect(html.match(/<style/g)).toHaveLength(1);
    expect(styles.map((css) => `'sha256-${createHash('sha256').update(css).digest('base64')}'`)).toEqual([
      /style-src 'self' ('[^']*')/.exec(html)![1],
    ]);
    expect(html.match(/<script[^>]*>[^<]/)).toBeNull();
  });

  test('carries no text that is not a figure: no NaN, undefined, null or object', async () => {
    const { page, close } = await open(fileUrl(site, path));
    const text = await page.locator('body').innerText();
    expect(text).not.toMatch(/NaN|undefined|\bnull\b|\[object|Infinity/);
    // Words and figures that ran together when the page was built.
    expect(text).not.toMatch(/\b(?!within\b)(?:of|the|in|and|on|with|last|by|seen)(?:\d|in\b \d)|[a-z]±/i);
    await close();
  });

  test('prints in the light palette, with no figure wider than the paper', async () => {
    const { page, close } = await open(fileUrl(site, path), { ...desktop, colorScheme: 'dark' });
    await page.emulateMedia({ media: 'print' });
    await page.setViewportSize({ width: 680, height: 960 });
    const print = await page.evaluate(() => ({
      background: getComputedStyle(document.documentElement).backgroundColor,
      overflow: document.documentElement.scrollWidth - innerWidth,
      nav: getComputedStyle(document.querySelector('nav')!).display,
    }));
    expect(print).toEqual({ background: 'rgb(255, 255, 255)', overflow: 0, nav: 'none' });
    await close();
  });
});

describe.each([
  ['harrowfold', harrowfold],
  ['larkmoor', larkmoor],
])('weight of %s', (_, site) => {
  const size = (file: string): number =>
    file.endsWith('.woff2')
      ? readFileSync(join(site, file)).length
      : gzipSync(readFileSync(join(site, file))).length;
  // What every page loads; the script that draws a part of a timeline comes when it is asked for, that of the map on its page. The image under
  // the map is the project's own, and comes after what is drawn on it.
  const assets = readdirSync(join(site, 'assets')).filter(
    (name) => !/-(zoom|map|timelines|published)\.js$|^background-/.test(name),
  );
  const shared = assets.reduce((sum, name) => sum + size(`assets/${name}`), 0);

  test('the overview weighs at most 100 kB compressed, fonts included', () =>
    expect(shared + size('index.html')).toBeLessThan(100_000));
  test.each(pagesOf(site).filter((p) => p.startsWith('stations/')))(
    '%s weighs at most 150 kB compressed, fonts included',
    (path) => {
      expect(shared + size('assets/stillmark-timelines.js') + size(path)).toBeLessThan(150_000);
    },
  );
});

test.each([
  ['index.html', 'stillmark.js'],
  ['map.html', 'stillmark-map.js'],
  ['stations/T07.html', 'stillmark-timelines.js'],
])(
  '%s asks a host for one script and no style, and for faces where there is room for them',
  async (path, script) => {
    for (const [options, faces] of [
      [phone, 0],
      [desktop, 4],
    ] as const) {
      const context = await browser.newContext(options);
      const page = await context.newPage();
      const asked: string[] = [];
      page.on('request', (request) => asked.push(new URL(request.url()).pathname.split('/').at(-1)!));
      await page.goto(urlOf(larkmoor) + path);
      await page.evaluate(() => document.fonts.ready);
      await page.waitForLoadState('networkidle');
      await context.close();
      const of = (ending: string): string[] => asked.filter((name) => name.endsWith(ending));
      expect(of('.js')).toEqual([script]);
      expect(of('.css')).toEqual([]);
      expect(of('.woff2')).toHaveLength(faces);
    }
  },
);

describe('the main path, as a stakeholder walks it', () => {
  test('from the answer to the map, by keyboard to a station, and to how it is computed', async () => {
    const { page, close } = await open(urlOf(larkmoor));
    await expect(page.locator('.answer').innerText()).resolves.toMatch(/^T07 has moved\./);
    const mark = page.locator('.at-wide svg a[href$="T07.html"]');
    await mark.focus();
    await page.keyboard.press('Enter');
    await page.waitForURL('**/stations/T07.html');
    await expect(page.locator('.answer').innerText()).resolves.toMatch(
      /T07 has moved .* ± .*\(95\s%\) toward \d+°/,
    );
    await page.getByRole('link', { name: 'How the noise is learnt' }).click();
    await page.waitForURL('**/methods.html#noise');
    await expect(page.locator('#noise').isVisible()).resolves.toBe(true);
    await close();
  });

  test('the figures of the table are those of the snapshot', async () => {
    const { page, close } = await open(urlOf(larkmoor));
    const snapshot = JSON.parse(readFileSync(join(larkmoor, 'snapshot.json'), 'utf8')) as {
      stations: { id: string; statement: { horizontal?: { magnitude_mm: number } } }[];
    };
    const t07 = snapshot.stations.find((s) => s.id === 'T07')!;
    const cell = await page
      .locator('tr', { has: page.locator('th a', { hasText: 'T07' }) })
      .first()
      .locator('td.n')
      .first()
      .innerText();
    expect(Number(cell.split('±')[0])).toBeCloseTo(t07.statement.horizontal!.magnitude_mm, 1);
    await close();
  });
});
