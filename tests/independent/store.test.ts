import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { parse } from 'csv-parse/sync';
import { expect, inject, test } from 'vitest';

// The store as a stranger reads it: by DuckDB in place, with the layout that the manual of the store tells, and with nothing of ours.

const project = inject('demoProject');
const manual = readFileSync(new URL('../../apps/cli/docs/store.md', import.meta.url), 'utf8');

async function ask(sql: string): Promise<Record<string, unknown>[]> {
  const database = await DuckDBInstance.create(':memory:');
  const connection = await database.connect();
  const result = await connection.runAndReadAll(sql.replaceAll("'store/", `'${join(project, 'store')}/`));
  const rows = result.getRowObjectsJson();
  connection.closeSync();
  return rows;
}

interface Delivered {
  readonly time: string;
  readonly station: string;
  readonly x: string;
  readonly cxx: string;
}
const delivered = readdirSync(join(project, 'positions'))
  .filter((name) => name.endsWith('.csv'))
  .flatMap((name) => parse<Delivered>(readFileSync(join(project, 'positions', name)), { columns: true }));

test('the query of the manual counts what was delivered, station by station and month by month', async () => {
  const sql = /```sql\n([^]*?)```/.exec(manual)![1]!;
  const stream = (await ask("SELECT DISTINCT stream FROM read_parquet('store/epochs/*/*.parquet')"))[0]![
    'stream'
  ];
  const rows = await ask(sql.replace('from-B1', String(stream)));
  const counts = new Map<string, Set<string>>();
  for (const { time, station } of delivered) {
    const instant = new Date(time).toISOString();
    const key = `${instant.slice(0, 7)} ${station}`;
    counts.set(key, (counts.get(key) ?? new Set<string>()).add(instant));
  }
  expect(rows.length).toBe(counts.size);
  expect(rows.length).toBeGreaterThan(5);
  for (const { month, station, epochs } of rows)
    expect(Number(epochs), `${String(month)} ${String(station)}`).toBe(
      counts.get(`${String(month)} ${String(station)}`)!.size,
    );
});

test('positions and covariances are those that were delivered, in metres and square metres, at their instants in UTC', async () => {
  const rows = await ask("SELECT station, epoch_ms(time) AS ms, x, cxx FROM read_parquet('store/epochs/*/*.parquet')"); // prettier-ignore
  const stored = new Map(rows.map((row) => [`${String(row['station'])} ${Number(row['ms'])}`, row]));
  for (const { time, station, x, cxx } of delivered) {
    const row = stored.get(`${station} ${Date.parse(time)}`)!;
    expect([row['x'], row['cxx']].map(Number)).toEqual([Number(x), Number(cxx)]);
  }
});

test('a month holds the times of that month and no others, and every column that the manual names', async () => {
  const astray = await ask("SELECT count(*) AS n FROM read_parquet('store/epochs/*/*.parquet', hive_partitioning = true) WHERE strftime(time, '%Y-%m') <> month"); // prettier-ignore
  expect(Number(astray[0]!['n'])).toBe(0);
  for (const table of ['epochs']) {
    const row = manual.split('\n').find((line) => line.startsWith(`| \`store/${table}/`))!;
    const named = [...row.split('|')[3]!.matchAll(/`([a-z]+)`/g)].map(([, name]) => name!);
    const columns = (await ask(`DESCRIBE SELECT * FROM read_parquet('store/${table}/*/*.parquet')`)).map((c) => c['column_name']); // prettier-ignore
    for (const name of named) expect(columns, table).toContain(name);
  }
});
