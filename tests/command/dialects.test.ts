import { cp, mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, inject, test } from 'vitest';
import { mustRun, stillmark } from '../support/command.ts';

// The positions of the demo slope as another country's spreadsheet writes them must give the same store, to the byte.
let folder: string;
let project: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-dialects-'));
  project = join(folder, 'project');
  await cp(inject('demoProject'), project, { recursive: true });
});
afterEach(() => rm(folder, { recursive: true, force: true }));

const storeOf = async (of: string): Promise<string> => {
  const months = (await readdir(join(of, 'store/epochs'))).sort();
  const files = await Promise.all(
    months.map((m) => readFile(join(of, 'store/epochs', m, 'epochs.parquet'), 'base64')),
  );
  return files.join('\n');
};

test('semicolons, decimal commas and dates with the day first give the same store', async () => {
  for (const name of await readdir(join(project, 'positions'))) {
    const path = join(project, 'positions', name);
    const [header, ...rows] = (await readFile(path, 'utf8')).trimEnd().split('\n');
    const place = header!.split(',').indexOf('time');
    const written = rows.map((row) =>
      row
        .split(',')
        .map((field, i) =>
          i === place
            ? field.replace(/^(\d{4})-(\d\d)-(\d\d)T(\d\d:\d\d:\d\d)Z$/, '$3.$2.$1 $4')
            : field.replace('.', ','),
        )
        .join(';'),
    );
    await writeFile(path, `\ufeff${[header!.replaceAll(',', ';'), ...written].join('\r\n')}\r\n`);
  }
  const file = join(project, 'project.yaml');
  const dialect = "    dialect: { delimiter: ;, decimal: ',', time: DD.MM.YYYY HH:mm:ss, utcOffset: Z }\n";
  await writeFile(
    file,
    (await readFile(file, 'utf8')).replace(
      '    solution: epoch-wise\n',
      `    solution: epoch-wise\n${dialect}`,
    ),
  );
  await rm(join(project, 'store'), { recursive: true });
  await mustRun(['check', project]);
  await mustRun(['ingest', project]);
  expect(await storeOf(project)).toBe(await storeOf(inject('demoProject')));
});

test('the same file without its dialect is refused where it is, and nothing goes in', async () => {
  const [name] = (await readdir(join(project, 'positions'))).sort();
  const path = join(project, 'positions', name!);
  await writeFile(path, (await readFile(path, 'utf8')).replaceAll(',', ';'));
  const { code, err } = await stillmark(['check', project]);
  expect(code).toBe(1);
  expect(err).toContain(`positions/${name!}:1:1`);
  expect(err).toContain('has no column');
});
