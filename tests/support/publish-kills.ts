import { spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { watch } from 'node:fs';
import { readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { setTimeout } from 'node:timers/promises';
import { built, mustRun } from './command.ts';
import { nginx, startNginx } from './nginx.ts';
import { serve } from './serve.ts';

const sha256 = (bytes: Uint8Array): string => createHash('sha256').update(bytes).digest('hex');

interface Manifest {
  readonly files: readonly { readonly path: string; readonly sha256: string }[];
}

/** What a reader that asks all the time has seen. */
export interface Seen {
  readonly host: 'nginx' | 'node';
  readonly kills: number;
  readonly reads: number;
  /** Pages and manifests of which both belong to one snapshot; between the others `latest` was switched. */
  readonly pairs: number;
  /** How often `latest` led elsewhere than before. */
  readonly switches: number;
}

/**
 * Kills one command after so many milliseconds; false where it ended before, and well.
 *
 * @param writing folder: the time counts from the first change in it, when the command has begun to write
 */
function killAfter(ms: number, args: readonly string[], writing?: string): Promise<boolean> {
  return new Promise((resolve, reject) => {
    let killed = false;
    let timer: NodeJS.Timeout | undefined;
    let said = '';
    const child = spawn(process.execPath, [built, ...args], { stdio: ['ignore', 'ignore', 'pipe'] });
    child.stderr.setEncoding('utf8').on('data', (text: string) => (said += text));
    const begin = (): void => {
      timer ??= globalThis.setTimeout(() => (killed = child.kill('SIGKILL')), ms);
    };
    const watcher = writing === undefined ? undefined : watch(writing, begin);
    if (!watcher) begin();
    child.on('close', (code) => {
      clearTimeout(timer);
      watcher?.close();
      if (code === 0 || killed) resolve(killed);
      else reject(new Error(`${args.join(' ')} ended with ${code}: ${said}`));
    });
  });
}

/**
 * Publishes snapshots in turn into one folder, each taking an old version away, and kills the command at random moments, while a reader asks
 * a web server for `latest` all the time.
 *
 * @param sites whole snapshots of one project
 * @param folder an empty folder that anybody may enter
 * @throws where the reader was ever answered with something else than a page of a whole snapshot, or the disk holds a version that is not whole
 */
export async function killPublishing(
  folder: string,
  sites: readonly string[],
  kills: number,
  uniform: () => number,
): Promise<Seen> {
  const place = join(folder, 'published');
  const argsOf = (site: string): string[] => [
    'publish',
    site,
    '--to',
    place,
    '--keep',
    '1',
    '--despite',
    'a test',
  ];
  const pageOf = new Map<string, string>();
  for (const site of sites) {
    const manifest = await readFile(join(site, 'manifest.json'));
    pageOf.set(sha256(manifest), sha256(await readFile(join(site, 'index.html'))));
  }
  await mustRun(argsOf(sites[0]!));
  const host = nginx
    ? await startNginx(join(folder, 'nginx'), (port) => `server { listen 127.0.0.1:${port}; root ${place}; }`)
    : await serve(place);

  const read = async (path: string): Promise<Buffer> => {
    const response = await fetch(`${host.url}${path}`);
    const bytes = Buffer.from(await response.arrayBuffer());
    if (response.status !== 200) throw new Error(`${path}: answered with ${response.status}`);
    return bytes;
  };
  const going = new AbortController();
  let [reads, pairs, switches, last] = [0, 0, 0, ''];
  const reader = (async () => {
    while (!going.signal.aborted) {
      const before = sha256(await read('latest/manifest.json'));
      const page = sha256(await read('latest/index.html'));
      const after = sha256(await read('latest/manifest.json'));
      for (const hash of [before, after])
        if (!pageOf.has(hash)) throw new Error('a manifest that is of no snapshot');
      if (![...pageOf.values()].includes(page)) throw new Error('a page that is of no snapshot');
      if (before === after && pageOf.get(after) !== page)
        throw new Error('a page and a manifest that do not belong together');
      const history = (await read('versions/index.html')).toString();
      if (!history.trimEnd().endsWith('</html>')) throw new Error('half a page of versions');
      JSON.parse((await read('versions/versions.json')).toString());
      reads += 5;
      if (before === after) pairs++;
      if (last !== '' && after !== last) switches++;
      last = after;
      await setTimeout(3);
    }
  })();
  const stopped = reader.catch((error: unknown) => error);
  const began = performance.now();
  await mustRun(argsOf(sites[1]!));
  let usual = performance.now() - began;
  let writingMs = 40;

  let done = 0;
  for (let turn = 2; done < kills; turn++) {
    const args = argsOf(sites[turn % sites.length]!);
    // Half of them at any moment but while Node starts; half while it writes, which takes some hundredths of a second.
    const early = turn % 2 === 0;
    const killed = early
      ? await killAfter((0.25 + uniform()) * usual, args)
      : await killAfter(uniform() * writingMs, args, join(place, 'versions'));
    if (killed) done++;
    // However busy the machine is, about one in four ends by itself, and the others are met on all of their way.
    if (early) usual *= killed ? 1.03 : 0.91;
    else writingMs *= killed ? 1.03 : 0.91;
    await checkDisk(place);
  }
  await mustRun(argsOf(sites.at(-1)!));
  await checkDisk(place);
  going.abort();
  const error = await stopped;
  await host.close();
  if (error) throw error as Error;
  const left = [...(await readdir(place)), ...(await readdir(join(place, 'versions')))].filter(
    (name) => !/^(latest|versions|assets|index\.html|versions\.json|\d{8}T\d{6}Z-[0-9a-f]{12})$/.test(name),
  );
  const { versions } = JSON.parse(await readFile(join(place, 'versions/versions.json'), 'utf8')) as {
    versions: { name: string }[];
  };
  const folders = (await readdir(join(place, 'versions'))).filter((name) => /^\d{8}T/.test(name));
  left.push(...folders.filter((name) => !versions.some((v) => v.name === name)));
  if (left.length > 0) throw new Error(`left behind: ${left.join(', ')}`);
  return { host: nginx ? 'nginx' : 'node', kills: done, reads, pairs, switches };
}

/** Whatever moment a command was stopped at: every folder of a version holds what its manifest names, and nothing else. */
async function checkDisk(place: string): Promise<void> {
  const versions = join(place, 'versions');
  for (const name of (await readdir(versions)).filter((n) => /^\d{8}T/.test(n))) {
    const folder = join(versions, name);
    const manifest = await readFile(join(folder, 'manifest.json'));
    if (!name.endsWith(sha256(manifest).slice(0, 12))) throw new Error(`${name} has another manifest`);
    const { files } = JSON.parse(manifest.toString()) as Manifest;
    const there = (await readdir(folder, { recursive: true, withFileTypes: true })).filter((e) => e.isFile());
    if (there.length !== files.length + 1) throw new Error(`${name} holds ${there.length} files`);
    for (const { path, sha256: hash } of files)
      if (sha256(await readFile(join(folder, path))) !== hash)
        throw new Error(`${name}/${path} is not whole`);
  }
}
