import { spawn, spawnSync } from 'node:child_process';
import { chmod, lchown, mkdir, mkdtemp, readFile, rm, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, inject, test } from 'vitest';
import { mustRun } from '../support/command.ts';
import { freePort, nginx, startNginx } from '../support/nginx.ts';

// The configurations of hosting.md, taken out of it and run as they stand there, but for address and folder.
const manual = await readFile(
  fileURLToPath(new URL('../../apps/cli/docs/hosting.md', import.meta.url)),
  'utf8',
);
const block = (language: string): string =>
  new RegExp(`^\`\`\`${language}\\n([^]*?)^\`\`\`$`, 'm').exec(manual)![1]!;

let folder: string;
let place: string;
let version: string;
/** A file of series. */
let series: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-hosting-'));
  await chmod(folder, 0o755);
  place = join(folder, 'dam');
  const { out } = await mustRun(['publish', inject('larkmoorSite'), '--to', place, '--json']);
  version = (JSON.parse(out) as { version: { name: string } }).version.name;
  const manifest = JSON.parse(await readFile(join(place, 'latest/manifest.json'), 'utf8')) as {
    files: { path: string }[];
  };
  series = manifest.files.find(({ path }) => path.endsWith('.parquet'))!.path;
  await writeFile(join(place, '.secret'), 'not for readers');
  await mkdir(join(place, 'versions/.stillmark-partial'));
  await writeFile(join(place, 'versions/.stillmark-partial/index.html'), 'half');
});
afterAll(() => rm(folder, { recursive: true, force: true }));

const caddy = spawnSync('caddy', ['version']).error === undefined;
const hosts: [string, boolean, () => Promise<{ url: string; close: () => Promise<void> }>][] = [
  [
    'nginx',
    nginx !== undefined,
    () =>
      startNginx(join(folder, 'nginx'), (port) =>
        block('nginx').replace('listen 80;', `listen 127.0.0.1:${port};`).replaceAll('/srv/www/dam', place),
      ),
  ],
  ['caddy', caddy, startCaddy],
];

async function startCaddy(): Promise<{ url: string; close: () => Promise<void> }> {
  const port = await freePort();
  const file = join(folder, 'Caddyfile');
  const site = block('caddy')
    .replace('dam.example.org', `http://127.0.0.1:${port}`)
    .replaceAll('/srv/www/dam', place);
  await writeFile(file, `{\n\tadmin off\n}\n${site}`);
  const child = spawn('caddy', ['run', '--config', file, '--adapter', 'caddyfile'], {
    stdio: 'ignore',
    env: { PATH: process.env['PATH'], HOME: folder, XDG_DATA_HOME: folder, XDG_CONFIG_HOME: folder },
  });
  const ended = new Promise<void>((resolve) => child.on('close', () => resolve()));
  const url = `http://127.0.0.1:${port}/`;
  for (let attempt = 0; !(await fetch(url).catch(() => undefined)); attempt++) {
    if (attempt === 50 || child.exitCode !== null) throw new Error('caddy does not answer');
    await setTimeout(100);
  }
  return {
    url,
    close: async () => {
      child.kill();
      await ended;
    },
  };
}

describe.each(hosts)('the configuration for %s', (name, there, start) => {
  let url: string;
  let close: (() => Promise<void>) | undefined;
  beforeAll(async () => {
    if (there) ({ url, close } = await start());
  });
  afterAll(() => close?.());
  const get = (path: string, options: RequestInit = {}) =>
    fetch(url + path, { redirect: 'manual', ...options });

  test.skipIf(!there)('adds the policy of the pages and the other headers to every answer', async () => {
    const html = await readFile(join(place, 'latest/index.html'), 'utf8');
    const [, policy] = /Content-Security-Policy" content="([^"]+)"/.exec(html)!;
    for (const path of [
      'latest/',
      'latest/index.html',
      'latest/snapshot.json',
      `versions/${version}/log.atom`,
      'versions/',
      'nothing-there',
    ]) {
      const { headers } = await get(path);
      expect(headers.get('content-security-policy'), path).toBe(
        // The style in a page is allowed by its hash in the page's own policy; one header stands for all pages.
        `${policy}; frame-ancestors 'none'`
          .replaceAll('&#39;', "'")
          .replace(/'sha256-[^']*'/, "'unsafe-inline'"),
      );
      expect(headers.get('x-content-type-options'), path).toBe('nosniff');
      expect(headers.get('x-robots-tag'), path).toBe('noindex, nofollow');
      expect(headers.get('referrer-policy'), path).toBe('no-referrer');
      expect(headers.get('server') ?? '', path).not.toMatch(/\d/);
    }
  });

  test.skipIf(!there)(
    'lets versions be kept for a year, and everything else be asked for, which is answered with 304',
    async () => {
      const caching = async (path: string) => (await get(path)).headers.get('cache-control');
      expect(await caching(`versions/${version}/index.html`)).toBe('max-age=31536000, immutable');
      expect(await caching(`versions/${version}/assets/stillmark.js`)).toBe('max-age=31536000, immutable');
      for (const path of [
        'latest/',
        'latest/status.json',
        'versions/index.html',
        'versions/versions.json',
        'versions/assets/stillmark.js',
      ])
        expect(await caching(path), path).toBe('no-cache');
      // What is not there may come, or may have been taken away: nobody keeps that for a year.
      expect((await caching(`versions/${version}/nothing`)) ?? '').not.toContain('max-age');
      const first = await get('latest/status.json');
      expect(first.status).toBe(200);
      const headers = { 'if-none-match': first.headers.get('etag')! };
      expect((await get('latest/status.json', { headers })).status).toBe(304);
    },
  );

  test.skipIf(!there)('serves files as what they are', async () => {
    const types = {
      'latest/': /^text\/html; charset=utf-8$/,
      'latest/assets/stillmark.js': /javascript/,
      'latest/snapshot.json': /^application\/json/,
      'latest/log.atom': /^application\/atom\+xml/,
      'latest/log.csv': /^text\/csv/,
      'latest/duties.ics': /^text\/calendar/,
      [`latest/${series}`]: /^(application|$)/,
    };
    for (const [path, expected] of Object.entries(types)) {
      const response = await get(path);
      expect(response.status, path).toBe(200);
      expect(response.headers.get('content-type') ?? '', path).toMatch(expected);
    }
  });

  test.skipIf(!there)(
    'leads to the latest, lists no folder, and hides what is hidden or elsewhere',
    async () => {
      const root = await get('');
      expect([root.status, root.headers.get('location')]).toEqual([302, '/latest/']);
      for (const path of [
        '.secret',
        'versions/.stillmark-partial/index.html',
        '%2e%2e/hosting.md',
        `versions/${version}/series/`,
        'versions/assets/',
      ]) {
        const response = await get(path);
        expect(response.status, path).toBeGreaterThanOrEqual(400);
        expect(await response.text()).not.toMatch(/not for readers|^half|parquet/);
      }
      // Caddy answers with the page: nothing takes what is sent.
      const posted = await get('latest/index.html', { method: 'POST', body: 'x' });
      expect(posted.status).toBe(name === 'nginx' ? 405 : 200);
    },
  );

  test.skipIf(!there || name !== 'nginx' || process.getuid?.() !== 0)(
    'follows no link of somebody else',
    async () => {
      const outside = join(folder, 'outside.txt');
      await writeFile(outside, 'not of the site');
      await symlink(outside, join(place, 'versions/link.txt'));
      await lchown(join(place, 'versions/link.txt'), 65_534, 65_534);
      expect((await get('versions/link.txt')).status).toBe(403);
      expect((await get('latest/index.html')).status).toBe(200);
    },
  );
});
