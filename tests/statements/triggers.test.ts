import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { parse } from 'csv-parse/sync';
import { XMLParser, XMLValidator } from 'fast-xml-parser';
import { truth } from '@stillmark/data/larkmoor-dam/truth.ts';
import type { Snapshot, TriggerRecord } from '@stillmark/records';
import { beforeAll, describe, expect, inject, test } from 'vitest';

// Levels of the demo dam against what its generator planted: T07 creeps downstream since June, nothing else moves, T02 is silent.
const site = inject('larkmoorSite');
const read = (name: string): Promise<string> => readFile(join(site, name), 'utf8');
const day = 86_400_000;
let snapshot: Snapshot;
beforeAll(async () => {
  snapshot = JSON.parse(await read('snapshot.json')) as Snapshot;
});
const named = (name: string): TriggerRecord => snapshot.triggers.find((t) => t.name === name)!;
const reached = (name: string): string[] =>
  named(name).watched.flatMap(({ of, changes }) => (changes.some(({ to }) => to.level > 0) ? [of] : []));

describe('levels of the demo dam', () => {
  test('are reached by the creeping station alone, in fifteen months of thirty-six figures', () => {
    expect(reached('downstream movement')).toEqual([truth.creep.station]);
    expect(reached('downstream creep')).toEqual([truth.creep.station]);
    expect(reached('settlement')).toEqual([]);
  });

  test('the rate is found months before the movement passes its level, and after the creep began', () => {
    const rise = (name: string): number => {
      const { changes } = named(name).watched.find(({ of }) => of === truth.creep.station)!;
      return Date.parse(changes.find(({ to }) => to.level === 1)!.at);
    };
    const began = Date.parse(truth.creep.from);
    expect(rise('downstream creep')).toBeGreaterThan(began);
    expect(rise('downstream creep') - began).toBeLessThan(45 * day);
    expect(rise('downstream movement')).toBeGreaterThan(rise('downstream creep'));
  });

  test('a silent station is without data, a new one is not watched yet: neither is below its levels', () => {
    const of = (id: string): string =>
      named('downstream movement').watched.find((w) => w.of === id)!.state.condition;
    expect([of('T02'), of('T12')]).toEqual(['no-data', 'establishing']);
  });

  test('what was said to a change stands beside it', () => {
    const said = snapshot.triggers.flatMap(({ watched }) =>
      watched.flatMap(({ changes }) => changes.flatMap(({ acknowledged }) => acknowledged ?? [])),
    );
    expect(said.length).toBe(1);
    expect(snapshot.doubts.filter(({ message }) => message.includes('acknowledged'))).toEqual([]);
  });
});

describe('the log as files', () => {
  test('CSV read by csv-parse: a row a change', async () => {
    const rows: Record<string, string>[] = parse(await read('log.csv'), { columns: true });
    const changes = snapshot.triggers.flatMap(({ watched }) => watched.flatMap((w) => w.changes));
    expect(rows.length).toBe(changes.length);
    expect(rows.map(({ time }) => time!)).toEqual(
      rows.map(({ time }) => time!).toSorted((a, b) => a.localeCompare(b)),
    );
    const risen = rows.filter((r) => Number(r['to_level']) > Number(r['from_level']));
    expect(risen.map((r) => [r['trigger'], r['of'], r['level_name']])).toEqual([
      ['downstream creep', 'T07', 'attention'],
      ['downstream movement', 'T07', 'attention'],
    ]);
  });

  // RFC 4287, 4.1.1 and 4.1.2: what a feed and an entry must contain; 4.2.6: ids are unique and permanent IRIs; 3.3: times of RFC 3339.
  test('Atom feed: well-formed, with what RFC 4287 asks of feeds and entries', async () => {
    const text = await read('log.atom');
    expect(XMLValidator.validate(text)).toBe(true);
    const { feed } = new XMLParser({ ignoreAttributes: false, isArray: (name) => name === 'entry' }).parse(
      text,
    ) as { feed: Record<string, unknown> & { entry: Record<string, unknown>[] } };
    expect(feed['@_xmlns']).toBe('http://www.w3.org/2005/Atom');
    for (const node of [feed, ...feed.entry]) {
      expect(node['id']).toMatch(/^urn:uuid:[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/);
      expect(node['title']).toBeTruthy();
      expect(node['updated']).toMatch(/^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$/);
    }
    expect(feed['author']).toMatchObject({ name: snapshot.project.title });
    const ids = feed.entry.map(({ id }) => id);
    expect(new Set(ids).size).toBe(ids.length);
    const pages = feed.entry.map(({ link }) => (link as Record<string, string>)['@_href']!);
    const html = await read('log.html');
    const anchors = pages.map((page) => page.split('#')[1]!).filter((a) => html.includes(`id="${a}"`));
    // Begins are told together on the page, all other changes have their place.
    const begins = feed.entry.filter(({ title }) => String(title).endsWith('watched from here on'));
    expect(anchors.length).toBe(pages.length - begins.length);
  });

  test('status.json: every state for machines, and the highest level', async () => {
    const status = JSON.parse(await read('status.json')) as {
      highestLevel: number;
      triggers: { of: string; trigger: string; condition: string; level: number }[];
    };
    expect(status.highestLevel).toBe(1);
    expect(status.triggers.length).toBe(37);
    expect(status.triggers.filter(({ level }) => level > 0).map(({ of }) => of)).toEqual(['T07', 'T07']);
    expect(status.triggers.filter(({ condition }) => condition === 'no-data').map(({ of }) => of)).toEqual([
      'T02',
      'T02',
      'T02',
    ]);
  });
});
