import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { getIssues } from '@placemarkio/check-geojson';
import { parse } from 'csv-parse/sync';
import { expect, inject, test } from 'vitest';

const site = inject('larkmoorSite');
const read = (path: string): string => readFileSync(join(site, path), 'utf8');
interface Metadata {
  '@context': string;
  tables: {
    url: string;
    tableSchema: { columns: { name: string; datatype: string; 'dc:description': string }[] };
  }[];
}

test('tables are what their dictionary says (CSV on the Web, W3C 2015): columns in order, every value of its datatype', () => {
  const metadata = JSON.parse(read('tables/metadata.json')) as Metadata;
  expect(metadata['@context']).toBe('http://www.w3.org/ns/csvw');
  const forms: Record<string, RegExp> = {
    number: /^-?\d+(\.\d+)?$/,
    boolean: /^(true|false)$/,
    dateTime: /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$/,
    string: /./,
  };
  for (const { url, tableSchema } of metadata.tables) {
    const [header, ...rows] = parse(read(`tables/${url}`));
    expect(header).toEqual(tableSchema.columns.map(({ name }) => name));
    expect(rows.length).toBeGreaterThan(5);
    for (const row of rows)
      row.forEach((cell, i) => {
        if (cell !== '')
          expect(cell, `${url}, ${header![i]}`).toMatch(forms[tableSchema.columns[i]!.datatype]!);
      });
    for (const column of tableSchema.columns) expect(column['dc:description']).toMatch(/\w+ \w+/);
  }
});

test('figures are those of the snapshot', () => {
  const rows = parse<Record<string, string>>(read('tables/stations.csv'), { columns: true });
  const snapshot = JSON.parse(read('snapshot.json')) as {
    stations: { id: string; statement: { kind: string; east_mm?: number; up_mm?: number } }[];
  };
  for (const { id, statement } of snapshot.stations) {
    const row = rows.find((r) => r['station'] === id && r['stated'] === 'true')!;
    if (statement.kind !== 'displacement') expect(row['east_mm']).toBe('');
    else {
      expect(Number(row['east_mm'])).toBeCloseTo(statement.east_mm!, 2);
      expect(Number(row['up_mm'])).toBeCloseTo(statement.up_mm!, 2);
    }
  }
});

test('map.geojson is GeoJSON (RFC 7946) by a library that knows nothing of us', () => {
  const text = read('map.geojson');
  expect(getIssues(text)).toEqual([]);
  const { features } = JSON.parse(text) as {
    features: { id: string; geometry: { coordinates: number[] } }[];
  };
  expect(features.length).toBe(15);
  // Longitude first: the invented dam stands west of Greenwich.
  expect(features[0]!.geometry.coordinates[0]).toBeLessThan(0);
});
