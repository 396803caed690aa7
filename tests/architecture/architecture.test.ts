import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { builtinModules } from 'node:module';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';

const top = fileURLToPath(new URL('../../', import.meta.url));
const read = (path: string): string => readFileSync(join(top, path), 'utf8');

interface Room {
  readonly path: string;
  readonly layer: number;
  readonly pure: boolean;
  /** Rooms by short name, and outside packages. */
  readonly imports: readonly string[];
}

/** The table of the contributors' guide: the one place where the house is written down. */
function tableOfGuide(): Room[] {
  const rows = read('DEVELOPERS.md').matchAll(
    /^\| (\d) \| `((?:packages|apps)\/[a-z]+)` \|[^|]*\| ([^|]*) \| ([^|]*) \|$/gm,
  );
  return [...rows].map(([, layer, path, runs, imports]) => ({
    path: path!,
    layer: Number(layer),
    pure: runs!.trim() === 'pure',
    imports: imports!.trim() === '–' ? [] : imports!.split(',').map((name) => name.trim()),
  }));
}

const rooms = tableOfGuide();
const shortName = (path: string): string => path.split('/')[1]!;
const byName = new Map(rooms.map((room) => [shortName(room.path), room]));

function sourcesOf(path: string): string[] {
  return readdirSync(join(top, path, 'src'), { recursive: true, encoding: 'utf8' }).filter(
    (f) => /\.(ts|astro)$/.test(f) && !f.endsWith('.test.ts'),
  );
}

/** What the sources of a room import; its tests may use more. */
function importsOf(path: string): { from: string; file: string }[] {
  return sourcesOf(path).flatMap((file) => {
    const text = read(join(path, 'src', file));
    return [
      ...text.matchAll(
        /(?:^|\n)\s*(?:import|export)\s[^'"]*?from\s+['"]([^'"]+)['"]|import\s+['"]([^'"]+)['"]|import\(\s*['"]([^'"]+)['"]/g,
      ),
    ]
      .map((m) => ({ from: (m[1] ?? m[2] ?? m[3])!, file }))
      .filter(({ from }) => !from.startsWith('.'));
  });
}

/** 'zod' of 'zod/v4', '@scope/name' of '@scope/name/deep'. */
function packageOf(specifier: string): string {
  return specifier
    .split('/')
    .slice(0, specifier.startsWith('@') ? 2 : 1)
    .join('/');
}

test('the table of the contributors guide lists every room that there is', () => {
  const there = ['packages', 'apps'].flatMap((group) =>
    readdirSync(join(top, group)).map((name) => `${group}/${name}`),
  );
  expect(rooms.map((r) => r.path).sort()).toEqual(there.sort());
});

describe.each(rooms.filter((room) => existsSync(join(top, room.path, 'src'))))('$path', (room) => {
  const found = importsOf(room.path);

  test('imports only what the table allows', () => {
    const allowed = new Set(room.imports);
    const against = found.filter(({ from }) => {
      // Modules that the builder makes have no package.
      if (from.startsWith('node:') || from.startsWith('virtual:')) return false;
      const name = packageOf(from);
      return !allowed.has(name.replace('@stillmark/', '')) && name !== '@stillmark/tooling';
    });
    expect(against).toEqual([]);
  });

  test('imports rooms of a lower layer only', () => {
    const against = found.filter(({ from }) => {
      const other = byName.get(packageOf(from).replace('@stillmark/', ''));
      return other !== undefined && other.layer >= room.layer;
    });
    expect(against).toEqual([]);
  });

  test('its package.json declares exactly the rooms of the table', () => {
    const manifest = JSON.parse(read(join(room.path, 'package.json'))) as {
      dependencies?: Record<string, string>;
      devDependencies?: Record<string, string>;
    };
    // The command is bundled, so its rooms are needed to build it, not to run it.
    const declared =
      room.path === 'apps/cli'
        ? { ...manifest.dependencies, ...manifest.devDependencies }
        : (manifest.dependencies ?? {});
    const internal = Object.keys(declared)
      .filter((name) => name.startsWith('@stillmark/') && name !== '@stillmark/tooling')
      .map((name) => name.replace('@stillmark/', ''));
    expect(internal.sort()).toEqual(room.imports.filter((name) => byName.has(name)).sort());
  });
});

describe.each(rooms.filter((room) => room.pure))('$path is pure', (room) => {
  test('no module of Node', () => {
    const against = importsOf(room.path).filter(
      ({ from }) => from.startsWith('node:') || builtinModules.includes(packageOf(from)),
    );
    expect(against).toEqual([]);
  });

  test('no clock and no randomness', () => {
    const against = sourcesOf(room.path).filter((file) =>
      /\bDate\.now\(|new Date\(\)|Math\.random\(|performance\.now\(/.test(read(join(room.path, 'src', file))),
    );
    expect(against).toEqual([]);
  });
});

test('no file is too long to be read in one sitting', () => {
  const sources = ['packages', 'apps', 'tests', 'data', 'scripts'].flatMap((group) =>
    readdirSync(join(top, group), { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile() && /\.(ts|astro|mjs|css)$/.test(entry.name))
      .map((entry) => join(entry.parentPath, entry.name))
      .filter((file) => !/node_modules|[/\\](dist|\.astro)[/\\]/.test(file)),
  );
  expect(sources.length).toBeGreaterThan(80);
  expect(sources.filter((file) => readFileSync(file, 'utf8').split('\n').length > 500)).toEqual([]);
});

test('scripts are plain JavaScript: right after the installation they run on the Node of the machine, which may read no types', () => {
  const scripts = readdirSync(join(top, 'scripts')).filter((name) => name.endsWith('.mjs'));
  expect(scripts.length).toBeGreaterThan(4);
  expect(scripts.filter((name) => /(?:from|import\()\s*'[^']*\.ts'/.test(read(`scripts/${name}`)))).toEqual(
    [],
  );
});
