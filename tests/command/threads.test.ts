import { computeState, nodeFiles, Threads, type Effects } from '@stillmark/pipeline';
import type { SiteView } from '@stillmark/records';
import { expect, inject, test } from 'vitest';

const producer = { name: 'stillmark', version: '0.0.0' };
const effects: Effects = { files: nodeFiles, progress: () => {}, nowMs: () => 0 };
const module = new URL('../../packages/pipeline/src/station-worker.ts', import.meta.url);

test('the number of threads changes no bit of what is stated', async () => {
  const project = inject('demoProject');
  const alone = await computeState(project, undefined, producer, effects);
  for (const count of [1, 3]) {
    const threads = new Threads(module, count);
    const view = await computeState(project, undefined, producer, { ...effects, threads });
    await threads.end();
    expect(view.snapshot).toEqual(alone.snapshot);
    expect(bytesOf(view)).toEqual(bytesOf(alone));
  }
});

test('a project of which nothing is to be computed comes to an end', async () => {
  const first = Date.parse('2026-09-01T00:00:00Z');
  const view = await computeState(inject('demoProject'), first, producer, {
    ...effects,
    threads: new Threads(module, 2),
  });
  expect(
    view.snapshot.stations.every(
      ({ statement }) => statement.kind === 'no-data' || statement.kind === 'held',
    ),
  ).toBe(true);
});

test('what a thread throws is thrown', async () => {
  const bad = new URL(
    'data:text/javascript,import{parentPort}from"node:worker_threads";parentPort.on("message",()=>{throw%20new%20Error("torn")})',
  );
  await expect(
    computeState(inject('demoProject'), undefined, producer, {
      ...effects,
      threads: new Threads(bad, 2),
    }),
  ).rejects.toThrow('torn');
});

function bytesOf({ series }: SiteView): string[] {
  return [...series].flatMap(([path, { epochs, windows }]) =>
    [epochs, windows].flatMap((columns) =>
      Object.entries(columns).map(
        ([name, values]) => `${path} ${name} ${Buffer.from(values.buffer).toString('base64')}`,
      ),
    ),
  );
}
