import { createHash } from 'node:crypto';
import { cp, mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, expect, inject, test } from 'vitest';
import { launch } from '../support/browser.ts';
import { mustRun } from '../support/command.ts';
import { desktop, openPage, phone, violationsOf } from '../support/page.ts';
import { serve } from '../support/serve.ts';

// The page of what is published: the demo dam, with levels, and an earlier state of the demo slope put in its place by a person.
let browser: Browser;
let folder: string;
let place: string;
const reason = 'a <b>trial</b> of the page & its marks';
const fresh = new Date('2026-11-23T08:00:00Z');
beforeAll(async () => {
  browser = await launch();
  folder = await mkdtemp(join(tmpdir(), 'stillmark-versions-'));
  place = join(folder, 'public');
  const old = join(folder, 'old');
  await mustRun(['publish', inject('larkmoorSite'), '--to', place]);
  await mustRun(['snapshot', inject('demoProject'), '--out', old, '--as-of', '2026-11-22T05:00:00Z']);
  await mustRun(['publish', old, '--to', place, '--despite', reason]);
});
afterAll(async () => {
  await browser.close();
  await rm(folder, { recursive: true, force: true });
});
const url = (): string => pathToFileURL(join(place, 'versions/index.html')).href;

test('opens from a folder and from a host: what each said, highest level, links that lead somewhere, newest first', async () => {
  const host = await serve(place, '/a dam/');
  for (const address of [url(), `${host.url}versions/index.html`]) {
    const { page, trouble, close } = await openPage(browser, address, desktop, fresh);
    const rows = await page.locator('tbody tr').allInnerTexts();
    expect(rows).toHaveLength(2);
    expect(rows[0]).toMatch(
      /^22 November 2026, 23:00 UTC\s+Larkmoor dam: T07 has moved\.[^]*level 1 \(attention\)\s+[0-9a-f]{64}$/,
    );
    expect(rows[1]).toMatch(
      /^22 November 2026, 06:00 UTC\+01:00\s*latest\s+Harrowfold slope: S2 has moved\.[^]*no levels set/,
    );
    expect(await page.locator('main').innerText()).toContain(reason);
    expect(await page.locator('.caution').innerText()).toMatch(/later times stand here too/);
    const links = await page.evaluate(() =>
      [...document.querySelectorAll('a')].map((a) => a.getAttribute('href')!),
    );
    expect(links.every((href) => !/^([a-z]+:|\/)/.test(href))).toBe(true);
    for (const href of new Set(links)) {
      if (href.startsWith('#')) continue;
      await readFile(join(place, 'versions', href));
    }
    expect(trouble).toEqual([]);
    await close();
  }
  await host.close();
});

test('the hash is that of the manifest, and verify answers for a version', async () => {
  const { page, close } = await openPage(browser, url(), desktop, fresh);
  const name = (await page.locator('tbody th a').first().getAttribute('href'))!.split('/')[0]!;
  const copy = join(folder, 'copy');
  await cp(join(place, 'versions', name), copy, { recursive: true });
  expect((await mustRun(['verify', copy])).out).toMatch(/as they were written/);
  const hash = await page.locator('td.hash').first().innerText();
  expect(hash).toMatch(/^[0-9a-f]{64}$/);
  expect(name.endsWith(hash.slice(0, 12))).toBe(true);
  await close();
});

test('has no violation that axe-core finds, light and dark, at a desk and on a phone, where it does not scroll sideways', async () => {
  for (const options of [desktop, { ...desktop, colorScheme: 'dark' as const }, phone]) {
    const { page, close } = await openPage(browser, url(), options, fresh);
    expect(await violationsOf(page)).toEqual([]);
    expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(
      0,
    );
    const small = await page.evaluate(
      () =>
        [...document.querySelectorAll('nav a, tbody th a')].filter(
          (a) => a.getBoundingClientRect().height < 44,
        ).length,
    );
    if (options === phone) expect(small).toBe(0);
    await close();
  }
});

test('has the policy of all pages and nothing inline, is whole without JavaScript, and prints in the light palette', async () => {
  const [html, other] = await Promise.all(
    [join(place, 'versions/index.html'), join(place, 'latest/index.html')].map((path) =>
      readFile(path, 'utf8'),
    ),
  );
  const policy =
    /<head>\s*<meta charset="utf-8">\s*<meta http-equiv="Content-Security-Policy" content="([^"]+)"/;
  // The style of a snapshot's pages holds the foot of its paper: each page allows its own, by its hash.
  const [own, theirs] = [html!, other!].map((page) => {
    const style = /<style>(.*?)<\/style>/s.exec(page)![1]!;
    return policy.exec(page)![1]!.replace(createHash('sha256').update(style).digest('base64'), 'its hash');
  });
  expect(own).toBe(theirs);
  expect(own).toContain("'sha256-its hash'");
  expect(html).not.toMatch(/ style="|javascript:| on[a-z]+="|<b>trial/);
  expect(html!.match(/<script[^>]*>[^<]/)).toBeNull();
  const { page, close } = await openPage(browser, url(), { ...desktop, javaScriptEnabled: false, colorScheme: 'dark' }, fresh); // prettier-ignore
  expect(await page.locator('tbody tr').count()).toBe(2);
  await page.emulateMedia({ media: 'print' });
  expect(await page.evaluate(() => getComputedStyle(document.documentElement).backgroundColor)).toBe(
    'rgb(255, 255, 255)',
  );
  await close();
});

test('says loudly that what is shown as the latest is out of date when it is', async () => {
  const late = await openPage(browser, url(), desktop, new Date('2026-11-24T05:00:01Z'));
  expect(await late.page.locator('[role=alert]').innerText()).toContain(
    'valid until 24 November 2026, 06:00 UTC+01:00',
  );
  await late.close();
  const inTime = await openPage(browser, url(), desktop, fresh);
  expect(await inTime.page.locator('[role=alert]').isVisible()).toBe(false);
  await inTime.close();
});

test('from each snapshot the others are reached, and one that is not the latest any more says so', async () => {
  const host = await serve(place, '/a dam/', { ranges: true });
  const versions = JSON.parse(await readFile(join(place, 'versions/versions.json'), 'utf8')) as {
    latest: string;
    versions: { name: string }[];
  };
  const [latest, other] = [
    versions.latest,
    versions.versions.find(({ name }) => name !== versions.latest)!.name,
  ];
  const link = 'What was published?';
  for (const [path, notice] of [
    ['latest/network.html', undefined],
    ['latest/stations/S2.html', undefined],
    [`versions/${latest}/index.html`, undefined],
    [
      `versions/${other}/stations/T07.html`,
      /^Another snapshot is published as the latest: as of 22 November 2026, 05:00 UTC\.$/,
    ],
  ] as const) {
    const { page, trouble, close } = await openPage(browser, host.url + path, desktop, fresh);
    await page.getByRole('link', { name: link }).waitFor();
    if (notice) await expect.poll(() => page.locator('[data-published]').innerText()).toMatch(notice);
    else expect(await page.locator('[data-published]').isVisible()).toBe(false);
    expect(await violationsOf(page)).toEqual([]);
    await page.getByRole('link', { name: link }).click();
    await page.waitForURL(`${host.url}versions/index.html`);
    // Playwright tells of the question whether the page is there (HEAD, which has no body) as of a request that failed.
    expect(trouble.filter((t) => t !== `failed: ${host.url}versions/index.html`)).toEqual([]);
    await close();
  }
  await host.close();
  // From a folder the name of a version is enough; what is only called latest leads nowhere that is not certain.
  for (const [path, shown] of [
    [`versions/${other}/index.html`, true],
    ['latest/index.html', false],
  ] as const) {
    const { page, trouble, close } = await openPage(
      browser,
      pathToFileURL(join(place, path)).href,
      desktop,
      fresh,
    );
    expect(await page.getByText(link).isVisible()).toBe(shown);
    expect(trouble).toEqual([]);
    await close();
  }
});

test('a snapshot that is published elsewhere promises nothing', async () => {
  const host = await serve(inject('larkmoorSite'), '/latest/', { ranges: true });
  const { page, close } = await openPage(browser, `${host.url}index.html`, desktop, fresh);
  await page.waitForTimeout(500);
  expect(await page.getByText('What was published?').isVisible()).toBe(false);
  await close();
  await host.close();
});
