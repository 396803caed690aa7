import { problem, type Problem } from '@stillmark/problems';
import { dayMs } from '@stillmark/records';
import { at } from './explain.ts';
import type { LocatedYaml } from './locate.ts';
import type { Project } from './schema.ts';

/** What a schema cannot say: names that must exist, must differ, or must fit each other. */
export function crossCheck(project: Project, yaml: LocatedYaml): Problem[] {
  return [
    ...stationIds(project, yaml),
    ...streams(project, yaml),
    ...events(project, yaml),
    ...windows(project, yaml),
  ];
}

function stationIds(project: Project, yaml: LocatedYaml): Problem[] {
  const problems: Problem[] = [];
  // Pages are files: on a disk that ignores case, T1 and t1 would be one page.
  const seen = new Map<string, number>();
  project.stations.forEach((station, i) => {
    const key = station.id.toLowerCase();
    const first = seen.get(key);
    if (first === undefined) {
      seen.set(key, i);
      return;
    }
    const { line } = yaml.locate(['stations', first, 'id']);
    problems.push(
      at(yaml, yaml.locate(['stations', i, 'id']), (more) =>
        problem('PROJECT_DUPLICATE', `station ${station.id} is defined twice, first in line ${line}`, {
          ...more,
          hint: 'ids that differ in more than upper and lower case',
        }),
      ),
    );
  });
  return problems;
}

function streams(project: Project, yaml: LocatedYaml): Problem[] {
  return project.streams.flatMap((stream, i) => {
    const base = project.stations.find((s) => s.id === stream.base);
    if (base?.role === 'base') return [];
    const bases = project.stations.filter((s) => s.role === 'base').map((s) => s.id);
    const message = base
      ? `stream ${stream.name} is processed from ${stream.base}, which is a monitoring station`
      : `stream ${stream.name} is processed from ${stream.base}, which is not a station`;
    return [
      at(yaml, yaml.locate(['streams', i, 'base']), (more) =>
        problem('PROJECT_REFERENCE', message, {
          ...more,
          ...(bases.length > 0 ? { allowed: bases } : { hint: 'a station with role base' }),
        }),
      ),
    ];
  });
}

function events(project: Project, yaml: LocatedYaml): Problem[] {
  const ids = project.stations.map((s) => s.id);
  return project.events.flatMap((event, i) => {
    if (event.station === undefined || ids.includes(event.station)) return [];
    return [
      at(yaml, yaml.locate(['events', i, 'station']), (more) =>
        problem('PROJECT_REFERENCE', `event ${i + 1} names ${event.station}, which is not a station`, {
          ...more,
          allowed: ids,
        }),
      ),
    ];
  });
}

function windows(project: Project, yaml: LocatedYaml): Problem[] {
  const problems: Problem[] = [];
  const { window, present } = project.statements;
  if (dayMs % window !== 0) {
    problems.push(
      at(yaml, yaml.locate(['statements', 'window']), (more) =>
        problem('PROJECT_VALUE', 'window of statements does not divide a day', {
          ...more,
          hint: '1 h, 2 h, 3 h, 4 h, 6 h, 8 h, 12 h or 24 h',
        }),
      ),
    );
  }
  if (present % window !== 0) {
    problems.push(
      at(yaml, yaml.locate(['statements', 'present']), (more) =>
        problem('PROJECT_VALUE', 'present of statements is not a whole number of windows', {
          ...more,
          hint: 'a multiple of the window, such as 24 h',
        }),
      ),
    );
  }
  return problems;
}
