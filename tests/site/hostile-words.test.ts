import { cp, mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { larkmoorRelief } from '@stillmark/data/larkmoor-dam/terrain.ts';
import { parse as parseCsv } from 'csv-parse/sync';
import type { Browser } from 'playwright-core';
import { parseDocument, visit } from 'yaml';
import { afterAll, beforeAll, expect, inject, test } from 'vitest';
import { launch } from '../support/browser.ts';
import { mustRun, stillmark } from '../support/command.ts';

// Words of a project file that would do something if a page, a style sheet, a drawing, a feed or a table took them for more than words.
const hostile = [
  '<script>window.hit=1</script>',
  '"><img src=x onerror=window.hit=1>',
  "'><svg/onload=window.hit=1>",
  '</title></style></svg><script>window.hit=1</script>',
  'javascript:window.hit=1',
  '=HYPERLINK("http://elsewhere.invalid","x")',
  "+1+cmd|' /C calc'!A0",
  '"}{@import "http://elsewhere.invalid/x.css";}',
  '&lt;b&gt; ]]> -->',
];

let folder: string;
let site: string;
let browser: Browser;
let planted = 0;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-hostile-'));
  const project = join(folder, 'project');
  await cp(inject('demoProject'), project, { recursive: true });
  const file = join(project, 'project.yaml');
  const document = parseDocument(await readFile(file, 'utf8'));
  document.addIn(['events'], { at: '2026-10-20T12:00:00Z', kind: 'note', what: 'x' });
  document.addIn(['events'], { at: '2026-10-21T12:00:00Z', kind: 'instrument', station: 'S1', what: 'x' });
  document.set('duties', document.createNode([{ what: 'x', due: '2026-12-01', responsible: 'measurement' }]));
  document.set('plan', document.createNode({ checklist: [{ what: 'x', by: 'x', result: 'x' }], zone: { rules: [{ kind: 'angle of draw', what: 'x', depth: '10 m', angle: 30 }] } })); // prettier-ignore
  // Names of what lies under the map are short.
  document.set(
    'background',
    document.createNode({
      image: { file: 'site.png', name: '"><svg/onload=window.hit=1>', coordinates: 'EPSG:25832' },
      layers: [{ file: 'lines.geojson', name: '</title></svg><script>hit()</script>', labels: 'e' }],
    }),
  );
  await writeFile(join(project, 'site.png'), larkmoorRelief().png);
  await writeFile(join(project, 'site.pgw'), '5\n0\n0\n-5\n566000\n5142600\n');
  const lines = hostile.map((words, i) => ({
    type: 'Feature',
    properties: { e: `${words.slice(0, 22)}\u202e` },
    geometry: { type: 'LineString', coordinates: [[9.86, 46.418 + i / 2000], [9.89, 46.418 + i / 2000]] }, // prettier-ignore
  }));
  await writeFile(
    join(project, 'lines.geojson'),
    JSON.stringify({ type: 'FeatureCollection', features: lines }),
  );
  // Every word that people write goes; names that are pointed at, and what is chosen from a list, stay.
  const free = new Set([
    'title',
    'purpose',
    'on',
    'antenna',
    'type',
    'what',
    'by',
    'result',
    'source',
    'responsible person',
    'why',
  ]);
  visit(document, {
    Pair(_, pair) {
      const { key, value } = pair as { key: { value?: unknown }; value: { value?: unknown } | null };
      if (!free.has(String(key.value)) || typeof value?.value !== 'string') return;
      value.value = `${hostile[planted++ % hostile.length]} ${planted}`;
    },
  });
  await writeFile(file, String(document));
  const outline = document.get('outline');
  if (typeof outline === 'string') {
    const plan = JSON.parse(await readFile(join(project, outline), 'utf8')) as { features: { properties: Record<string, unknown> }[] }; // prettier-ignore
    plan.features.forEach(
      (feature, i) => (feature.properties['name'] = `${hostile[i % hostile.length]}\u202eturned`),
    );
    await writeFile(join(project, outline), JSON.stringify(plan));
  }
  site = join(folder, 'site');
  await mustRun(['snapshot', project, '--out', site, '--single-file', join(folder, 'one.html')]);
  await mustRun([
    'release',
    project,
    '--site',
    site,
    '--by',
    hostile[1]!,
    '--comment',
    hostile[0]!,
    '--out',
    join(folder, 'released'),
  ]);
  await mustRun(['portfolio', site, '--out', join(folder, 'all'), '--title', hostile[3]!]);
  browser = await launch();
}, 120_000);
afterAll(async () => {
  await browser.close();
  await rm(folder, { recursive: true, force: true });
});

test('there are words in every place where people write some', () =>
  expect(planted).toBeGreaterThanOrEqual(25));

test('on no page anything runs, is fetched from elsewhere, or becomes an element', async () => {
  const pages = (await readdir(folder, { recursive: true, encoding: 'utf8' })).filter((f) =>
    f.endsWith('.html'),
  );
  expect(pages.length).toBeGreaterThan(20);
  for (const path of pages) {
    const page = await browser.newPage();
    const trouble: string[] = [];
    page.on('request', (r) => {
      if (!/^(file|data|blob):/.test(r.url())) trouble.push(r.url());
    });
    page.on('console', (m) => trouble.push(m.text()));
    page.on('pageerror', (e) => trouble.push(e.message));
    await page.goto(pathToFileURL(join(folder, path)).href);
    const found = await page.evaluate(() => ({
      hit: 'hit' in globalThis,
      images: document.images.length,
      handlers: [...document.querySelectorAll('*')].flatMap((e) =>
        e.getAttributeNames().filter((name) => name.startsWith('on')),
      ),
      links: [...document.querySelectorAll('a[href]')]
        .map((a) => a.getAttribute('href')!)
        .filter((href) => /^\s*(javascript|data|vbscript):/i.test(href)),
      scripts: [...document.scripts].filter((s) => s.textContent.includes('hit')).length,
    }));
    expect({ path, trouble, ...found }).toEqual({ path, trouble: [], hit: false, images: 0, handlers: [], links: [], scripts: 0 }); // prettier-ignore
    await page.close();
  }
});

test('what lies under the map is there, as words', async () => {
  const html = await readFile(join(site, 'map.html'), 'utf8');
  expect(html).toMatch(/<image id="map-wide-background"/);
  expect(html).toContain('&#60;script&#62;window');
  expect(html.match(/class="line-labels"/g)!.length).toBeGreaterThan(0);
});

test('marks that turn the direction of text are refused in the project file, and taken out of names of the outline', async () => {
  const project = join(folder, 'turned');
  await cp(inject('demoProject'), project, { recursive: true });
  const file = join(project, 'project.yaml');
  await writeFile(
    file,
    (await readFile(file, 'utf8')).replace(/^title: .*$/m, 'title: "ok \\u202Edetrevni"'),
  );
  const { code, err } = await stillmark(['check', project]);
  expect(code).toBe(1);
  expect(err).toMatch(/project\.yaml:\d+:\d+ error PROJECT_VALUE\s+title: the text holds characters/);
  for (const name of await readdir(folder, { recursive: true, encoding: 'utf8' }))
    if (/\.(html|json|css|csv)$/.test(name) && !name.startsWith('project') && !name.startsWith('turned'))
      expect(await readFile(join(folder, name), 'utf8'), name).not.toMatch(/[\u202a-\u202e\u2066-\u2069]/);
});

test('in tables no cell is a formula', async () => {
  const [header, ...rows] = parseCsv(await readFile(join(site, 'tables/stations.csv'), 'utf8'));
  expect(header).toContain('stands_on');
  const words = rows.flat().filter((cell) => !/^-?\d+(\.\d+)?$/.test(cell));
  expect(words.some((cell) => cell.startsWith("'="))).toBe(true);
  expect(words.filter((cell) => /^[=+@-]/.test(cell))).toEqual([]);
});

test('the style of the foot of printed pages holds one string and no rule of anybody else', async () => {
  const page = await readFile(join(site, 'index.html'), 'utf8');
  const [, style] = /<style>(.*?)<\/style>/s.exec(page)!;
  const css = style!.slice(style!.lastIndexOf('@media print{@page{@bottom-left'));
  expect(css).toMatch(
    /^@media print\{@page\{@bottom-left\{content:"(?:[A-Za-z0-9 ,.:]|\\[0-9a-f]+ )*";font:9pt sans-serif\}\}\}$/,
  );
});
