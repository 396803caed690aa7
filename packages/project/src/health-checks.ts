import { problem, type Problem } from '@stillmark/problems';
import type { z } from 'zod';
import { at } from './explain.ts';
import type { LocatedYaml } from './locate.ts';
import type { projectSchema } from './schema.ts';

type Project = z.output<typeof projectSchema>;
type Path = (string | number)[];

/** Sources of tracking, shared things, duties and what sensors say of the network name what is there, once, and whole. */
export function health(project: Project, yaml: LocatedYaml): Problem[] {
  const problems: Problem[] = [];
  const say = (path: Path, code: Problem['code'], message: string, more: Partial<Problem>): void => {
    problems.push(at(yaml, yaml.locate(path), (place) => problem(code, message, { ...place, ...more })));
  };
  const stations = project.stations.map(({ id }) => id);
  const things = [...stations, ...project.shared.map(({ name }) => name)];
  const known = (path: Path, name: string | undefined, allowed: readonly string[], message: string): void => {
    if (name !== undefined && !allowed.includes(name)) say(path, 'PROJECT_REFERENCE', message, { allowed });
  };
  project.tracking.forEach((source, i) => {
    const { name, format, sites } = source;
    if (project.tracking.findIndex((o) => o.name.toLowerCase() === name.toLowerCase()) < i)
      say(['tracking', i, 'name'], 'PROJECT_DUPLICATE', `tracking ${name} is defined twice`, {
        hint: 'names that differ in more than upper and lower case',
      });
    for (const id of Object.keys(sites ?? {}))
      known(
        ['tracking', i, 'sites', id],
        id,
        stations,
        `sites of tracking ${name} name ${id}, which is not a station`,
      );
    if (format === 'nmea' && !sites)
      say(
        ['tracking', i, 'format'],
        'PROJECT_VALUE',
        `tracking ${name} does not say whose log each file is`,
        {
          hint: 'sites: { S1: "logs/S1*" }',
        },
      );
    if (format === 'nmea' && source.orbits.length > 0)
      say(
        ['tracking', i, 'orbits'],
        'PROJECT_VALUE',
        `tracking ${name} is in NMEA, in which the receiver tells what is in view`,
        {
          hint: 'no orbits',
        },
      );
  });
  project.shared.forEach(({ name, stations: users }, i) => {
    if (things.indexOf(name) < stations.length + i)
      say(['shared', i, 'name'], 'PROJECT_DUPLICATE', `${name} is the name of something else too`, {
        hint: 'names that differ from each other and from the ids of stations',
      });
    users.forEach((id, k) =>
      known(['shared', i, 'stations', k], id, stations, `${name} serves ${id}, which is not a station`),
    );
  });
  const roles = project.responsible.map(({ role }) => role);
  project.duties.forEach(({ what, of, responsible, due, done, every }, i) => {
    known(
      ['duties', i, 'of'],
      of,
      things,
      `duty '${what}' is of ${of ?? ''}, which is no station and nothing shared`,
    );
    known(
      ['duties', i, 'responsible'],
      responsible,
      roles,
      `duty '${what}' is of the role ${responsible ?? ''}, which nobody has`,
    );
    if (!every && done.some((ms) => ms < due - 366 * 86_400_000))
      say(
        ['duties', i, 'done'],
        'PROJECT_VALUE',
        `duty '${what}' was done more than a year before it is due, and does not come again`,
        {
          hint: 'every: 12 months, or the day on which it was done',
        },
      );
  });
  project.sensors.forEach(({ name, health: own }, i) => {
    if (!own) return;
    known(
      ['sensors', i, 'health', 'of'],
      own.of,
      things,
      `sensor ${name} is of ${own.of ?? ''}, which is no station and nothing shared`,
    );
    const needs = (key: 'of' | 'least' | 'plan' | 'resets', hint: string): void => {
      if (own[key] === undefined)
        say(
          ['sensors', i, 'health'],
          'PROJECT_VALUE',
          `sensor ${name} is of ${own.kind} and does not say its ${key}`,
          { hint },
        );
    };
    if (own.kind === 'battery' || own.kind === 'storage') {
      needs('of', 'of: the station or the shared thing');
      needs(
        'least',
        own.kind === 'battery' ? 'least: the voltage at which it is cut off' : 'least: what must be free',
      );
    }
    if (own.kind === 'temperature' && !/^°?C$/.test(project.sensors[i]!.unit))
      say(
        ['sensors', i, 'unit'],
        'PROJECT_VALUE',
        `sensor ${name} tells frost, and is in ${project.sensors[i]!.unit}`,
        {
          hint: '°C',
        },
      );
    if (own.kind === 'data') {
      needs('of', 'of: the station or the shared thing');
      needs('plan', 'plan: what may be used');
      needs('resets', 'resets: the day of the month on which the plan begins anew');
    }
  });
  return problems;
}
