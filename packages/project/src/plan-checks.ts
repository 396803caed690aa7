import { problem, type Problem } from '@stillmark/problems';
import { dayMs } from '@stillmark/records';
import type { z } from 'zod';
import { at } from './explain.ts';
import type { LocatedYaml } from './locate.ts';
import type { projectSchema } from './schema.ts';

type Project = z.output<typeof projectSchema>;

/** What is planned names what is there, and in an order of time that can be kept. */
export function plan(project: Project, yaml: LocatedYaml): Problem[] {
  const own = project.plan;
  if (!own) return [];
  const problems: Problem[] = [];
  const say = (
    path: (string | number)[],
    code: Problem['code'],
    message: string,
    more: Partial<Problem>,
  ): void => {
    problems.push(
      at(yaml, yaml.locate(['plan', ...path]), (place) => problem(code, message, { ...place, ...more })),
    );
  };
  const stations = project.stations.map(({ id }) => id);
  const things = [...stations, ...project.shared.map(({ name }) => name)];
  for (const key of ['power', 'communications', 'storage'] as const)
    own[key].forEach(({ of }, i) => {
      if (!things.includes(of))
        say(
          [key, i, 'of'],
          'PROJECT_REFERENCE',
          `${key} ${i + 1} is of ${of}, which is no station and nothing shared`,
          {
            allowed: things,
          },
        );
    });
  const { installation, start, sky } = own;
  if (start !== undefined && !installation)
    say(['start'], 'PROJECT_VALUE', 'a start is planned, and no installation', {
      hint: 'installation: { from: 2027-03-01, to: 2027-03-14 }',
    });
  if (sky && (sky.step > sky.span || sky.step > dayMs / 24 || sky.span / sky.step > 50_000))
    say(['sky'], 'PROJECT_VALUE', 'the steps of the sky are too long or too many', {
      hint: 'steps of an hour at most, within the span, and 50 000 of them at most',
    });
  if (installation && installation.to < installation.from)
    say(['installation', 'to'], 'PROJECT_VALUE', 'the installation ends before it begins', {
      hint: 'from before to',
    });
  if (installation && start !== undefined && start <= installation.from)
    say(['start'], 'PROJECT_VALUE', 'the first displacement is wanted before anything is installed', {
      hint: 'a start after installation and reference period',
    });
  own.orders.forEach(({ what, ordered, received }, i) => {
    if (received !== undefined && received < ordered)
      say(['orders', i, 'received'], 'PROJECT_VALUE', `${what} was received before it was ordered`, {
        hint: 'a later day',
      });
  });
  if (own.zone?.clearance !== undefined && project.outline === undefined)
    say(['zone', 'clearance'], 'PROJECT_VALUE', 'a clearance is asked for, and no outline has a zone', {
      hint: 'outline: a GeoJSON file with an area of kind zone',
    });
  own.displacementTests.forEach(({ station, at: when, set }, i) => {
    if (!stations.includes(station)) {
      say(
        ['displacementTests', i, 'station'],
        'PROJECT_REFERENCE',
        `displacement test ${i + 1} is of ${station}, which is not a station`,
        {
          allowed: stations,
        },
      );
      return;
    }
    const event = project.events.some(
      (e) => e.kind === 'instrument' && e.station === station && Math.abs(e.at - when) < dayMs / 24,
    );
    if (!event)
      say(
        ['displacementTests', i, 'at'],
        'PROJECT_VALUE',
        `no event of kind instrument of ${station} stands within an hour of displacement test ${i + 1}`,
        {
          hint: 'an event with the time at which the antenna was moved: its step is what is reported',
        },
      );
    if (set.east === 0 && set.north === 0 && set.up === 0)
      say(
        ['displacementTests', i, 'set'],
        'PROJECT_VALUE',
        `displacement test ${i + 1} does not say by how much the antenna was moved`,
        {
          hint: 'set: { east: 5 mm }',
        },
      );
  });
  return problems;
}
