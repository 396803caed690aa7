import { problem, type Problem } from '@stillmark/problems';
import { dayMs } from '@stillmark/records';
import type { z } from 'zod';
import { at } from './explain.ts';
import type { LocatedYaml } from './locate.ts';
import type { projectSchema } from './schema.ts';
import { isOfPairs, type LevelUnit } from './triggers-schema.ts';

type Project = z.output<typeof projectSchema>;
type Trigger = Project['triggers'][number];
type Say = (
  path: (string | number)[],
  code: Problem['code'],
  message: string,
  more: Partial<Problem>,
) => void;

/** Names of the pairs of a project: their own, or those of their stations. */
export function pairName({
  name,
  stations,
}: {
  readonly name?: string | undefined;
  readonly stations: readonly string[];
}): string {
  return name ?? stations.join('–');
}

/** What a trigger watches: stations or pairs, by name. */
export function watchedBy(
  { stations, pairs }: Pick<Project, 'stations' | 'pairs'>,
  trigger: Trigger,
): readonly string[] {
  if (isOfPairs(trigger.quantity)) return trigger.pairs ?? pairs.map(pairName);
  return trigger.stations ?? stations.filter(({ role }) => role === 'monitoring').map(({ id }) => id);
}

/** The unit in which the levels of a trigger are told. */
export function unitOf({ quantity, rateOver }: Pick<Trigger, 'quantity' | 'rateOver'>): LevelUnit {
  if (quantity === 'tilt') return 'mm/m';
  return rateOver === undefined ? 'mm' : 'mm/30 d';
}

/** Triggers watch what is there, over means that are computed, with levels that rise and people who are named. */
export function triggers(project: Project, yaml: LocatedYaml): Problem[] {
  const problems: Problem[] = [];
  project.triggers.forEach((trigger, i) => {
    const say: Say = (path, code, message, more) =>
      problems.push(
        at(yaml, yaml.locate(['triggers', i, ...path]), (place) =>
          problem(code, message, { ...place, ...more }),
        ),
      );
    const name = `trigger ${trigger.name}`;
    if (project.triggers.findIndex((other) => other.name === trigger.name) < i)
      say(['name'], 'PROJECT_DUPLICATE', `${name} is defined twice`, { hint: 'names that differ' });
    subjects(project, trigger, name, say);
    means(project, trigger, name, say);
    levels(project, trigger, name, say);
    if (trigger.from !== undefined && trigger.to !== undefined && trigger.to <= trigger.from)
      say(['to'], 'PROJECT_VALUE', `${name} ends before it begins`, { hint: 'a time after `from`' });
  });
  return problems;
}

function subjects(
  { stations, streams, pairs, axes }: Project,
  trigger: Trigger,
  name: string,
  say: Say,
): void {
  const { quantity, stream, side } = trigger;
  for (const key of ['stations', 'pairs'] as const)
    trigger[key]?.forEach((id, k, all) => {
      if (all.indexOf(id) < k)
        say([key, k], 'PROJECT_DUPLICATE', `${name} names ${id} twice`, { hint: 'each once' });
    });
  const known = streams.map((s) => s.name);
  if (stream !== undefined && !known.includes(stream))
    say(['stream'], 'PROJECT_REFERENCE', `${name} names ${stream}, which is not a stream`, {
      allowed: known,
    });
  if (isOfPairs(quantity)) {
    const names = pairs.map(pairName);
    if (trigger.stations)
      say(['stations'], 'PROJECT_VALUE', `${name} is of pairs: ${quantity} is of two stations`, {
        hint: 'pairs: [...]',
      });
    if (stream !== undefined)
      say(['stream'], 'PROJECT_VALUE', `${name} is of pairs, which name their stream themselves`, {
        hint: 'no stream here',
      });
    if (trigger.figures !== 'raw')
      say(['figures'], 'PROJECT_VALUE', `${name} is of pairs, from which no response is taken off`, {
        allowed: ['raw'],
      });
    if (names.length === 0)
      say(['quantity'], 'PROJECT_REFERENCE', `${name} watches pairs, and the project has none`, {
        hint: 'pairs: of the project',
      });
    trigger.pairs?.forEach((pair, k) => {
      if (!names.includes(pair))
        say(['pairs', k], 'PROJECT_REFERENCE', `${name} names ${pair}, which is not a pair`, {
          allowed: names,
        });
    });
    return;
  }
  if (trigger.pairs)
    say(['pairs'], 'PROJECT_VALUE', `${name} is of stations: ${quantity} is not of two`, {
      hint: 'stations: [...]',
    });
  if ((quantity === 'longitudinal' || quantity === 'transverse') && !axes)
    say(['quantity'], 'PROJECT_REFERENCE', `${name} is ${quantity}, and the project has no axes`, {
      hint: 'axes: { longitudinalAzimuth: ... }',
    });
  if (quantity === 'horizontal' && side !== 'either')
    say(['side'], 'PROJECT_VALUE', `${name} is of the size of a movement, which has no side`, {
      allowed: ['either'],
    });
  const ids = stations.map(({ id }) => id);
  trigger.stations?.forEach((id, k) => {
    if (!ids.includes(id)) {
      say(['stations', k], 'PROJECT_REFERENCE', `${name} names ${id}, which is not a station`, {
        allowed: ids,
      });
      return;
    }
    const own = stations.find((s) => s.id === id)!;
    const used = streams.find((s) => s.name === (stream ?? own.stream)) ?? streams[0]!;
    if (used.base === id)
      say(['stations', k], 'PROJECT_REFERENCE', `${name} names ${id}, which is held in stream ${used.name}`, {
        hint: 'another stream, or stations that it sees',
      });
  });
}

function means({ statements, processingInterval }: Project, trigger: Trigger, name: string, say: Say): void {
  const { window, rateOver, missing } = trigger;
  if (window % statements.window !== 0 || (window > dayMs ? window % dayMs !== 0 : dayMs % window !== 0))
    say(
      ['window'],
      'PROJECT_VALUE',
      `window of ${name} is no whole number of the means of statements that divides a day or is of days`,
      {
        hint: 'such as 24 h',
      },
    );
  if (rateOver !== undefined && (rateOver % window !== 0 || rateOver < 24 * statements.window))
    say(
      ['rateOver'],
      'PROJECT_VALUE',
      `rateOver of ${name} is no whole number of its windows, or shorter than 24 means of statements`,
      {
        hint: 'such as 30 d',
      },
    );
  if (missing.noDataAfter < Math.max(window, processingInterval))
    say(
      ['missing', 'noDataAfter'],
      'PROJECT_VALUE',
      `${name} would be without data between any two processing runs or windows`,
      {
        hint: 'longer than window and processingInterval',
      },
    );
}

const unitNames: Readonly<Record<LevelUnit, string>> = {
  mm: 'mm or cm',
  'mm/30 d': 'mm/d, mm/month or mm/year',
  'mm/m': 'mm/m',
};

function levels({ responsible }: Project, trigger: Trigger, name: string, say: Say): void {
  const roles = responsible.map(({ role }) => role);
  const unit = unitOf(trigger);
  if (trigger.quantity === 'tilt' && trigger.rateOver !== undefined)
    say(['rateOver'], 'PROJECT_VALUE', `${name}: no rate of a tilt is computed`, { hint: 'settlement' });
  trigger.levels.forEach((level, k) => {
    const before = trigger.levels[k - 1];
    if (level.at.unit !== unit)
      say(['levels', k, 'at'], 'PROJECT_VALUE', `level ${level.name} of ${name} has the wrong unit`, {
        hint: unitNames[unit],
      });
    else if (before && level.at.unit === before.at.unit && level.at.value <= before.at.value)
      say(
        ['levels', k, 'at'],
        'PROJECT_VALUE',
        `level ${level.name} of ${name} is not above level ${before.name}`,
        {
          hint: 'levels from the lowest to the highest',
        },
      );
    if (trigger.levels.findIndex((other) => other.name === level.name) < k)
      say(['levels', k, 'name'], 'PROJECT_DUPLICATE', `${name} has two levels ${level.name}`, {
        hint: 'names that differ',
      });
    if (!roles.includes(level.responsible))
      say(
        ['levels', k, 'responsible'],
        'PROJECT_REFERENCE',
        `level ${level.name} of ${name} names ${level.responsible}, which is no role under responsible`,
        roles.length > 0 ? { allowed: roles } : { hint: 'responsible: with a role' },
      );
  });
}

/** For so long a movement is waited for in the simulation (analysis/src/alarm-load). */
const longestWait = { step: 30 * dayMs, ramp: 120 * dayMs };

/** Candidates of alarms are of means that can be computed, and ask for something. */
export function alarmLoads({ alarmLoad, statements, axes }: Project, yaml: LocatedYaml): Problem[] {
  return alarmLoad.flatMap((load, i) => {
    const problems: Problem[] = [];
    const say: Say = (path, code, message, more) =>
      problems.push(
        at(yaml, yaml.locate(['alarmLoad', i, ...path]), (place) =>
          problem(code, message, { ...place, ...more }),
        ),
      );
    const name = `alarm load ${i + 1}`;
    if ((load.quantity === 'longitudinal' || load.quantity === 'transverse') && !axes)
      say(['quantity'], 'PROJECT_REFERENCE', `${name} is ${load.quantity}, and the project has no axes`, {
        hint: 'axes: { longitudinalAzimuth: ... }',
      });
    if (load.quantity === 'horizontal' && load.side !== 'either')
      say(['side'], 'PROJECT_VALUE', `${name} is of the size of a movement, which has no side`, {
        allowed: ['either'],
      });
    if (!load.step && !load.ramp)
      say(['quantity'], 'PROJECT_VALUE', `${name} asks for no movement to be found`, {
        hint: 'step: or ramp:',
      });
    for (const kind of ['step', 'ramp'] as const) {
      const most = longestWait[kind];
      if ((load[kind]?.within ?? 0) > most)
        say([kind, 'within'], 'PROJECT_VALUE', `${kind} of ${name} may take longer than is simulated`, {
          hint: `at most ${most / dayMs} d; of slower movements a trigger on the rate tells earlier`,
        });
    }
    load.windows.forEach((window, k) => {
      if (window > longestWait.step)
        say(['windows', k], 'PROJECT_VALUE', `window ${k + 1} of ${name} is longer than is simulated`, {
          hint: `at most ${longestWait.step / dayMs} d`,
        });
      if (window % statements.window !== 0 || (window > dayMs ? window % dayMs !== 0 : dayMs % window !== 0))
        say(
          ['windows', k],
          'PROJECT_VALUE',
          `window ${k + 1} of ${name} is no whole number of the means of statements that divides a day or is of days`,
          {
            hint: 'such as 24 h',
          },
        );
    });
    return problems;
  });
}

/** Acknowledgements name a trigger and what it watches; whether there is such a change is seen when states are computed. */
export function acknowledgements(project: Project, yaml: LocatedYaml): Problem[] {
  return project.acknowledgements.flatMap(({ trigger: name, of, change, at: when }, i): Problem[] => {
    const say = (key: string, message: string, more: Partial<Problem>): Problem[] => [
      at(yaml, yaml.locate(['acknowledgements', i, key]), (place) =>
        problem('PROJECT_REFERENCE', message, { ...place, ...more }),
      ),
    ];
    const trigger = project.triggers.find((t) => t.name === name);
    if (!trigger)
      return say(
        'trigger',
        `acknowledgement ${i + 1} names ${name}, which is not a trigger`,
        project.triggers.length > 0
          ? { allowed: project.triggers.map((t) => t.name) }
          : { hint: 'triggers: of the project' },
      );
    const watched = watchedBy(project, trigger);
    if (!watched.includes(of))
      return say('of', `acknowledgement ${i + 1} is of ${of}, which ${name} does not watch`, {
        allowed: [...watched],
      });
    if (when < change)
      return say('at', `acknowledgement ${i + 1} is older than the change it is of`, {
        hint: 'the time when it was seen',
      });
    return [];
  });
}
