import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { Ajv2020 } from 'ajv/dist/2020.js';
import addFormats from 'ajv-formats';
import { describe, expect, inject, test } from 'vitest';
import { parse } from 'yaml';
import { stillmark } from '../support/command.ts';

// The schemas that editors and other programs are given, against a general validator of JSON Schema (ajv).

function validator(schema: object): (value: unknown) => string[] {
  const ajv = new Ajv2020({ strict: false, allErrors: true });
  (addFormats as unknown as (a: Ajv2020) => void)(ajv);
  const validate = ajv.compile(schema);
  return (value) =>
    validate(value) ? [] : validate.errors!.map(({ instancePath, message }) => `${instancePath} ${message}`);
}

describe('JSON Schema of project.yaml, as `stillmark schema` prints it', async () => {
  const { code, out } = await stillmark(['schema']);
  const check = validator(JSON.parse(out) as object);
  const demo = async (name: string): Promise<string> =>
    readFile(new URL(`../../data/${name}/project.yaml`, import.meta.url), 'utf8');

  test('accepts the project files of the demos', async () => {
    expect(code).toBe(0);
    for (const name of ['larkmoor-dam', 'plovermouth-bridge', 'harrowfold-slope'])
      expect(check(parse(await demo(name), { merge: true }))).toEqual([]);
  });

  test('accepts the examples of its manual, which are one project file together', async () => {
    const manual = await readFile(new URL('../../apps/cli/docs/project-file.md', import.meta.url), 'utf8');
    const examples = [...manual.matchAll(/^```yaml\n([^]*?)^```$/gm)].map(([, text]) => text!);
    expect(examples.length).toBeGreaterThan(10);
    expect(check(parse(examples.join('')))).toEqual([]);
  });

  test('refuses what the command refuses: a key that is not known, a role that is none, a missing title', async () => {
    const text = await demo('larkmoor-dam');
    const faults = (change: (t: string) => string): string =>
      check(parse(change(text), { merge: true })).join('; ');
    expect(faults((t) => t.replace('role: base', 'role: basis'))).toContain('/stations/0/role');
    expect(faults((t) => t.replace('title:', 'titel:'))).toMatch(/required property 'title'/);
    expect(faults((t) => t.replace('processingInterval:', 'interval:'))).toMatch(/additional properties/);
  });

  test('explains its keys', () => {
    expect(out).toContain('Smallest movement that must be found.');
  });
});

describe('JSON Schema of the snapshot, as the site carries it', () => {
  test.each(['demoSite', 'larkmoorSite'] as const)(
    '%s: snapshot.json is what snapshot.schema.json says',
    async (site) => {
      const folder = inject(site);
      const check = validator(
        JSON.parse(await readFile(join(folder, 'snapshot.schema.json'), 'utf8')) as object,
      );
      const snapshot = JSON.parse(await readFile(join(folder, 'snapshot.json'), 'utf8')) as Record<
        string,
        unknown
      >;
      expect(check(snapshot)).toEqual([]);
      expect(check({ ...snapshot, version: 2 }).join()).toContain('/version');
    },
  );
});
