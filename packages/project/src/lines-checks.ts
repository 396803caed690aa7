import { problem, type Problem } from '@stillmark/problems';
import { dayMs } from '@stillmark/records';
import type { z } from 'zod';
import { at } from './explain.ts';
import type { LocatedYaml } from './locate.ts';
import type { projectSchema } from './schema.ts';

type Project = z.output<typeof projectSchema>;

const hourMs = 3_600_000;

/** Means of responses are whole hours that divide a day: shorter ones would make more of them than noise can be learnt from. */
export function responses({ response }: Project, yaml: LocatedYaml): Problem[] {
  if (response.means >= hourMs && dayMs % response.means === 0) return [];
  return [
    at(yaml, yaml.locate(['response', 'means']), (more) =>
      problem('PROJECT_VALUE', 'means of response is shorter than 1 h or does not divide a day', {
        ...more,
        hint: '1 h, 2 h, 3 h, 4 h, 6 h, 8 h, 12 h or 24 h',
      }),
    ),
  ];
}

/** Pairs and lines name different stations, and a stream that sees all of them. */
export function lines({ pairs, lines: rows, stations, streams }: Project, yaml: LocatedYaml): Problem[] {
  const of = (key: 'pairs' | 'lines', all: Project['lines']): Problem[] =>
    all.flatMap((line, i) => {
      const say = (path: (string | number)[], message: string, more: Partial<Problem>): Problem =>
        at(yaml, yaml.locate([key, i, ...path]), (place) =>
          problem('PROJECT_REFERENCE', message, { ...place, ...more }),
        );
      const word = key === 'pairs' ? 'pair' : 'line';
      const ids = stations.map(({ id }) => id);
      const problems = line.stations.flatMap((id, k): Problem[] => {
        if (!ids.includes(id))
          return [
            say(['stations', k], `${word} ${i + 1} names ${id}, which is not a station`, { allowed: ids }),
          ];
        if (line.stations.indexOf(id) < k)
          return [say(['stations', k], `${word} ${i + 1} names ${id} twice`, { hint: 'different stations' })];
        return [];
      });
      if (problems.length > 0) return problems;
      const names = streams.map(({ name }) => name);
      if (line.stream !== undefined && !names.includes(line.stream))
        return [
          say(['stream'], `${word} ${i + 1} names ${line.stream}, which is not a stream`, { allowed: names }),
        ];
      const stream = streamOf({ stations, streams }, line);
      const held = line.stations.find((id) => id === stream.base);
      if (held === undefined) return [];
      return [
        say(
          ['stations', line.stations.indexOf(held)],
          `${word} ${i + 1} names ${held}, which is held in stream ${stream.name}: nothing can be said of it there`,
          { hint: 'stations that the stream sees, or another stream' },
        ),
      ];
    });
  return [...of('pairs', pairs), ...of('lines', rows)];
}

/** Decisions are about bases, and no two about one base of one time. */
export function decisions({ decisions: all, stations }: Project, yaml: LocatedYaml): Problem[] {
  const bases = stations.filter(({ role }) => role === 'base').map(({ id }) => id);
  return all.flatMap((decision, i): Problem[] => {
    const say = (key: string, code: Problem['code'], message: string, more: Partial<Problem>): Problem[] => [
      at(yaml, yaml.locate(['decisions', i, key]), (place) => problem(code, message, { ...place, ...more })),
    ];
    if (!bases.includes(decision.base))
      return say(
        'base',
        'PROJECT_REFERENCE',
        `decision ${i + 1} is about ${decision.base}, which is not a base`,
        {
          allowed: bases,
        },
      );
    const other = all.findIndex(
      ({ base, at: when }, k) => k < i && base === decision.base && when === decision.at,
    );
    if (other < 0) return [];
    return say(
      'at',
      'PROJECT_VALUE',
      `decisions ${other + 1} and ${i + 1} on ${decision.base} are of the same time`,
      {
        hint: 'the time of each; the latest counts',
      },
    );
  });
}

/** A station takes the place of another of its role, and no two of each other's. */
export function successions({ stations }: Project, yaml: LocatedYaml): Problem[] {
  return stations.flatMap(({ id, role, succeeds }, i): Problem[] => {
    if (!succeeds) return [];
    const say = (message: string, more: Partial<Problem>): Problem[] => [
      at(yaml, yaml.locate(['stations', i, 'succeeds', 'station']), (place) =>
        problem('PROJECT_REFERENCE', message, { ...place, ...more }),
      ),
    ];
    const before = stations.find((s) => s.id === succeeds.station);
    const others = stations.filter((s) => s.role === role && s.id !== id).map((s) => s.id);
    if (!before)
      return say(`${id} takes the place of ${succeeds.station}, which is not a station`, { allowed: others });
    if (before.role !== role)
      return say(`${id} takes the place of ${before.id}, which is no ${role} station`, { allowed: others });
    const seen = new Set([id]);
    let next: typeof before | undefined = before;
    while (next) {
      if (seen.has(next.id))
        return say(`${id} takes its own place in the end: the stations succeed each other in a circle`, {
          hint: 'the earlier station of the two',
        });
      seen.add(next.id);
      const earlier: string | undefined = next.succeeds?.station;
      next = stations.find((other) => other.id === earlier);
    }
    return [];
  });
}

/** The stream in which the stations of a pair or a line are compared: the one it names, or that which its first station is told in. */
export function streamOf(
  { stations, streams }: Pick<Project, 'stations' | 'streams'>,
  line: { readonly stations: readonly string[]; readonly stream?: string | undefined },
): Project['streams'][number] {
  const preferred = stations.find(({ id }) => id === line.stations[0])?.stream;
  const name = line.stream ?? preferred;
  return streams.find((s) => s.name === name) ?? streams[0]!;
}
