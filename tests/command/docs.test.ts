import { spawnSync } from 'node:child_process';
import { chmod, cp, mkdir, mkdtemp, readdir, readFile, rm, truncate, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { Ajv2020 } from 'ajv/dist/2020.js';
import addFormats from 'ajv-formats';
import { afterAll, beforeAll, describe, expect, inject, test } from 'vitest';
import { parse } from 'yaml';
import { built, mustRun } from '../support/command.ts';

// What the manuals say is done: blocks are taken out of the Markdown and run.
const top = fileURLToPath(new URL('../../', import.meta.url));
const manuals = [
  'README.md',
  ...['operations', 'hosting', 'security', 'store', 'translating'].map((n) => `apps/cli/docs/${n}.md`),
];
const texts = new Map<string, string>();
for (const name of manuals) texts.set(name, await readFile(join(top, name), 'utf8'));

/** The block of a language whose text holds a phrase. */
function block(name: string, language: string, phrase: string): string {
  const blocks = [...texts.get(name)!.matchAll(/^```(\w+)\n([^]*?)^```$/gm)];
  return blocks.find(([, its, text]) => its === language && text!.includes(phrase))![2]!;
}

let folder: string;
/** Where `stillmark` is a command of the shell. */
let env: Record<string, string>;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-docs-'));
  const bin = join(folder, 'bin');
  await mkdir(bin);
  await writeFile(join(bin, 'stillmark'), `#!/bin/sh\nexec '${process.execPath}' '${built}' "$@"\n`);
  await chmod(join(bin, 'stillmark'), 0o755);
  env = { PATH: [bin, process.env['PATH']].join(delimiter) };
});
afterAll(() => rm(folder, { recursive: true, force: true }));

const bash = (
  script: string,
  args: readonly string[] = [],
  more: Record<string, string> = {},
  cwd = folder,
) => {
  const { status, stdout, stderr } = spawnSync('/bin/bash', ['-c', script, 'bash', ...args], {
    cwd,
    encoding: 'utf8',
    // A socket there is taken for a remote shell, and reads files of the user's first.
    stdio: ['ignore', 'pipe', 'pipe'],
    env: { ...env, ...more },
  });
  return { status, stdout, stderr };
};

test('every command and option that a manual names is there', async () => {
  const lines = [...texts].flatMap(([name, text]) =>
    [...text.matchAll(/\bstillmark ((?:[a-z]+-)?[a-z]+)((?: [^`\n|&;]*)?)/g)].map(
      (m) => [name, m[1]!, m[2]!] as const,
    ),
  );
  const known = new Map<string, string>();
  const help = (await mustRun(['--help'])).out;
  let checked = 0;
  for (const [name, command, rest] of lines) {
    const options = [...rest.matchAll(/(?<=\s)--[a-z-]+/g)].map(([option]) => option);
    // A word of a sentence is no command; what has options is meant as one.
    if (!new RegExp(`^  ${command} `, 'm').test(help)) {
      expect(options, `${name}: stillmark ${command}`).toEqual([]);
      continue;
    }
    if (!known.has(command)) known.set(command, (await mustRun([command, '--help'])).out);
    for (const option of options)
      expect(known.get(command), `${name}: stillmark ${command} ${option}`).toMatch(
        new RegExp(`${option}\\b`),
      );
    checked++;
  }
  expect(checked).toBeGreaterThan(30);
  expect([...known.keys()]).toEqual(
    expect.arrayContaining(['publish', 'verify', 'doctor', 'completion', 'schema']),
  );
  // The list of the README is whole.
  for (const [, command] of help.matchAll(/^ {2}([a-z-]+) .*$/gm))
    if (command !== 'help' && !command!.startsWith('-'))
      expect(texts.get('README.md')).toMatch(new RegExp(`^stillmark ${command}\\b`, 'm'));
});

describe('the job of operations.md', () => {
  const job = block('apps/cli/docs/operations.md', 'bash', '# update.sh');
  let own: string;
  const run = (more: Record<string, string> = {}) =>
    bash(
      job,
      ['project', 'site', 'public'].map((n) => join(own, n)),
      more,
    );
  const shown = async (): Promise<string> => readFile(join(own, 'public/latest/index.html'), 'utf8');
  beforeAll(async () => {
    own = join(folder, 'job');
    await cp(inject('demoProject'), join(own, 'project'), { recursive: true });
  });

  test('brings everything up to date, tells of what changed, and says nothing on standard error', async () => {
    const told = join(own, 'told.json');
    expect(run({ NOTIFY: `cat > '${told}'` })).toMatchObject({ status: 0, stderr: '' });
    expect(await shown()).toContain('S2 has moved');
    expect(JSON.parse(await readFile(told, 'utf8'))).toMatchObject({ format: 'stillmark-transitions' });
    expect(run()).toMatchObject({ status: 0, stderr: '' });
  });

  test('publishes the new state and ends with 1 where a command that is told fails, and where a row is refused', async () => {
    await rm(join(own, 'site'), { recursive: true });
    const { status, stderr } = run({ NOTIFY: 'exit 9' });
    expect({ status, told: /NOTIFY_FAILED/.test(stderr) }).toEqual({ status: 1, told: true });
    const path = join(own, 'project/positions/2026-11.csv');
    const whole = await readFile(path, 'utf8');
    await writeFile(path, whole.slice(0, -40));
    const refused = run();
    expect({ status: refused.status, told: /INPUT_CUT/.test(refused.stderr) }).toEqual({
      status: 1,
      told: true,
    });
    expect(refused.stdout).toContain('nothing was changed');
    await writeFile(path, whole);
  });

  test('leaves what is published and ends with 1 where the store is damaged', async () => {
    const before = await shown();
    await truncate(join(own, 'project/store/epochs/month=2026-10/epochs.parquet'), 3000);
    const { status, stderr } = run();
    expect({ status, told: /STORE_UNREADABLE/.test(stderr) }).toEqual({ status: 1, told: true });
    expect(await shown()).toBe(before);
  });
});

test('the example of a notice is of the shape that the schema says', async () => {
  const ajv = new Ajv2020({ strict: false });
  (addFormats as unknown as (a: Ajv2020) => void)(ajv);
  const schema = JSON.parse((await mustRun(['schema', 'transitions'])).out) as object;
  const example = JSON.parse(block('apps/cli/docs/operations.md', 'json', 'stillmark-transitions')) as object;
  expect(ajv.validate(schema, example), ajv.errorsText()).toBe(true);
});

test('the workflow is YAML whose steps are known commands, and the units name the job', () => {
  const workflow = parse(block('apps/cli/docs/operations.md', 'yaml', 'jobs:')) as {
    jobs: { site: { steps: { run?: string }[] } };
  };
  const runs = workflow.jobs.site.steps.flatMap(({ run }) => run?.split(' ').slice(0, 2).join(' ') ?? []);
  expect(runs).toEqual([
    'npm install',
    ...['doctor', 'ingest', 'snapshot', 'verify', 'publish'].map((name) => `stillmark ${name}`),
    'exit 1',
  ]);
  const service = block('apps/cli/docs/operations.md', 'ini', '[Service]');
  expect(service).toMatch(/^ExecStart=\/usr\/local\/bin\/update\.sh( \/\S+){3}$/m);
  for (const path of /ExecStart=\S+ (.*)/.exec(service)![1]!.split(' '))
    expect(
      /ReadWritePaths=(.*)/
        .exec(service)![1]!
        .split(' ')
        .some((w) => path.startsWith(w)),
    ).toBe(true);
});

test('the page that leads to the newest version does', async () => {
  const place = join(folder, 'start');
  await mustRun(['publish', inject('demoSite'), '--to', place]);
  expect(bash(block('apps/cli/docs/hosting.md', 'bash', '# start.sh'), [place]).status).toBe(0);
  const html = await readFile(join(place, 'index.html'), 'utf8');
  const [, target] = /http-equiv="refresh" content="0; url=([^"]+)"/.exec(html)!;
  expect(await readFile(join(place, target!), 'utf8')).toBe(
    await readFile(join(place, 'latest/index.html'), 'utf8'),
  );
  expect((await readdir(place)).sort()).toEqual(['index.html', 'latest', 'versions']);
});

test.skipIf(spawnSync('ssh-keygen', ['-?']).error !== undefined)(
  'a signature of security.md is verified, and that of another manifest is not',
  async () => {
    const own = join(folder, 'signed');
    const place = join(own, 'public');
    await mkdir(own);
    await mustRun(['publish', inject('demoSite'), '--to', place]);
    const steps = block('apps/cli/docs/security.md', 'bash', 'ssh-keygen').split(/^# A reader.*\n/m);
    const signed = bash(steps[0]!, [], { PASSPHRASE: '', PUBLIC: place, HOME: own }, own);
    expect(signed).toMatchObject({ status: 0 });
    const [name] = (await readdir(join(place, 'signatures'))).map((n) => n.replace('.sig', ''));
    const version = join(own, 'copy');
    await cp(join(place, 'versions', name!), version, { recursive: true });
    const read = () =>
      bash(
        steps[1]!,
        [],
        { SIGNATURE: join(place, 'signatures', `${name}.sig`), VERSION: version, HOME: own },
        own,
      ).status;
    expect(read()).toBe(0);
    // The signature is beside the versions: they are as they were written, and stay what publish takes for its own.
    expect((await mustRun(['publish', inject('demoSite'), '--to', place])).out).toContain(
      'nothing was changed',
    );
    await writeFile(join(version, 'index.html'), 'All is well.');
    expect(read()).not.toBe(0);
    const manifest = join(version, 'manifest.json');
    await writeFile(manifest, `${await readFile(manifest, 'utf8')}\n`);
    expect(read()).not.toBe(0);
  },
);
