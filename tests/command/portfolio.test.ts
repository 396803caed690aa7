import { cp, mkdir, mkdtemp, readdir, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterAll, beforeAll, expect, inject, test } from 'vitest';
import { launch } from '../support/browser.ts';
import { stillmark } from '../support/command.ts';

let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-portfolio-'));
  await cp(inject('demoSite'), join(folder, 'a slope #1'), { recursive: true });
  await cp(inject('larkmoorSite'), join(folder, 'dam'), { recursive: true });
});
afterAll(() => rm(folder, { recursive: true, force: true }));

const make = (...args: string[]): ReturnType<typeof stillmark> =>
  stillmark(['portfolio', ...args], { cwd: folder });

test('each project by its first sentence, in the given order; its link opens its site, and each tells by itself when it is out of date', async () => {
  expect(await make('dam', 'a slope #1', '--out', 'all', '--title', 'Our <structures>')).toMatchObject({
    code: 0,
  });
  const browser = await launch();
  const page = await browser.newPage();
  await page.clock.setFixedTime(new Date('2026-11-24T23:30:00Z'));
  await page.goto(pathToFileURL(join(folder, 'all', 'index.html')).href);
  await expect(page.locator('h1').innerText()).resolves.toBe('Our <structures>');
  await expect(page.locator('h2').allInnerTexts()).resolves.toEqual(['Larkmoor dam', 'Harrowfold slope']);
  await expect(page.locator('.answer').first().innerText()).resolves.toMatch(/^T07 has moved\./);
  const late = page.locator('[data-late]');
  // One that is late does not make all of them so.
  await expect(page.locator('[role=alert]').count()).resolves.toBe(0);
  await expect(late.evaluateAll((all) => all.map((e) => !(e as HTMLElement).hidden))).resolves.toEqual([
    true,
    true,
  ]);
  await page.clock.setFixedTime(new Date('2026-11-24T22:30:00Z'));
  await page.reload();
  await expect(late.evaluateAll((all) => all.map((e) => !(e as HTMLElement).hidden))).resolves.toEqual([
    false,
    false,
  ]);
  await page.getByRole('link', { name: 'Harrowfold slope' }).click();
  await expect(page.locator('h1').innerText()).resolves.toBe('Harrowfold slope');
  await browser.close();
  expect((await stillmark(['verify', join(folder, 'all')])).code).toBe(0);
});

test('a folder without a snapshot, and a page inside of a site, are refused and nothing is written', async () => {
  await mkdir(join(folder, 'empty'));
  expect((await make('dam', 'empty', '--out', 'none')).err).toContain('the folder holds no snapshot');
  expect((await make('dam', '--out', 'dam/all')).err).toContain('the portfolio would stand inside of a site');
  expect((await make('dam', '--out', 'dam')).err).toContain('the portfolio would stand inside of a site');
  expect(await readdir(folder)).not.toContain('none');
  expect(await readFile(join(folder, 'dam', 'index.html'), 'utf8')).toContain('Larkmoor dam');
});
