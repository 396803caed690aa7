import type { MachineFinding, MachinePart } from '@stillmark/records';

interface Words {
  readonly name: string;
  /** What it is needed for. */
  readonly use: string;
  /** How to come by it. */
  readonly get: string;
}

const words: Readonly<Record<MachinePart, Words>> = {
  node: {
    name: 'Node',
    use: 'everything',
    get: 'Node 20 or newer, from nodejs.org or the package manager of the system',
  },
  memory: {
    name: 'memory',
    use: 'networks of many stations with positions every few minutes',
    get: 'at least 1 GiB; in a container a higher limit',
  },
  threads: {
    name: 'threads',
    use: 'computing stations beside each other',
    get: 'more processors, or a higher limit of the container',
  },
  engine: {
    name: 'database engine (DuckDB)',
    use: 'ingest, commit and snapshot; verify and publish need none',
    get: '`npm install` of stillmark on this machine, with optional packages; there are builds for Linux (glibc), macOS and Windows',
  },
  zones: {
    name: 'time zones',
    use: 'times on the pages',
    get: 'a Node that is built with full ICU, as those of nodejs.org are',
  },
  chromium: {
    name: 'Chromium',
    use: 'printing pages to PDF without a screen; any browser prints them',
    get: 'the package `chromium` of the system, or CHROMIUM_PATH with its path',
  },
  clock: {
    name: 'clock',
    use: 'refusing positions of the future, and telling that a site is out of date',
    get: 'a time service (NTP) that runs on this machine; or the delivery corrected that brought a time to come',
  },
  project: { name: 'project file', use: 'everything', get: '`stillmark check`, which tells what is wrong' },
  right: {
    name: 'right to write',
    use: 'ingest and commit',
    get: 'the folder owned by, or writable for, the user that runs stillmark',
  },
  disk: {
    name: 'free disk',
    use: 'writing months of the store anew before the old ones are taken away',
    get: 'room on the disk that holds the project',
  },
  store: {
    name: 'store',
    use: 'every snapshot',
    get: 'the stillmark that wrote it, or a later one; of a damaged one a copy',
  },
};

/** `fine      Node: 24.21.0`; of what is missing, what it is for and how to come by it. */
export function machineSentence({ part, state, found }: MachineFinding): string {
  const { name, use, get } = words[part];
  if (state === 'fine') return `fine      ${name}: ${found}`;
  const optional = state === 'optional' ? ', not needed' : '';
  return `missing   ${name}${optional}: ${found}\n          for: ${use}\n          get: ${get}`;
}

/** How to come by a part. */
export function machineGet(part: MachinePart): string {
  return words[part].get;
}
