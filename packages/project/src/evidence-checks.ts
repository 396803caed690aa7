import { problem, type Problem } from '@stillmark/problems';
import { dayMs } from '@stillmark/records';
import type { z } from 'zod';
import { at } from './explain.ts';
import type { LocatedYaml } from './locate.ts';
import type { projectSchema } from './schema.ts';

type Project = z.output<typeof projectSchema>;
type Stream = Project['streams'][number];

/** Surveys are of stations. */
export function surveys({ surveys: all, stations }: Project, yaml: LocatedYaml): Problem[] {
  const ids = stations.map(({ id }) => id);
  return all.flatMap(({ station }, i) =>
    ids.includes(station)
      ? []
      : [
          at(yaml, yaml.locate(['surveys', i, 'station']), (more) =>
            problem('PROJECT_REFERENCE', `survey ${i + 1} is of ${station}, which is not a station`, {
              ...more,
              allowed: ids,
            }),
          ),
        ],
  );
}

/** Ways of processing follow each other in time. */
export function processings({ streams }: Project, yaml: LocatedYaml): Problem[] {
  return streams.flatMap(({ name, processing }, i) =>
    processing.flatMap(({ from }, k) =>
      k > 0 && from <= processing[k - 1]!.from
        ? [
            at(yaml, yaml.locate(['streams', i, 'processing', k, 'from']), (more) =>
              problem(
                'PROJECT_VALUE',
                `processing ${k + 1} of stream ${name} does not begin after the one before it`,
                {
                  ...more,
                  hint: 'entries in the order of time',
                },
              ),
            ),
          ]
        : [],
    ),
  );
}

const words = {
  engine: 'engine',
  antennaModel: 'antenna model',
  mask: 'elevation mask',
  frame: 'frame',
  held: 'held coordinates',
} as const;

/** Changes of the processing of a stream that no event ties: when, and what changed. */
export function untiedChanges(
  { events }: Pick<Project, 'events'>,
  { name, base, processing }: Stream,
): { atMs: number; what: string }[] {
  return processing.slice(1).flatMap((entry, k) => {
    const before = processing[k]!;
    const changed = (Object.keys(words) as (keyof typeof words)[]).filter(
      (key) => entry[key] !== before[key],
    );
    const tied = events.some(
      (event) =>
        Math.abs(event.at - entry.from) < dayMs &&
        ((event.kind === 'processing' && (event.stream === undefined || event.stream === name)) ||
          (event.kind === 'base' && event.station === base)),
    );
    if (changed.length === 0 || tied) return [];
    const say = (key: keyof typeof words): string =>
      `${words[key]} ${before[key] ?? 'unknown'}, then ${entry[key] ?? 'unknown'}`;
    return [{ atMs: entry.from, what: changed.map(say).join('; ') }];
  });
}
