import { problem, type Problem } from '@stillmark/problems';
import type { z } from 'zod';
import { columnsOf } from './columns.ts';
import { at } from './explain.ts';
import type { LocatedYaml } from './locate.ts';
import type { projectSchema } from './schema.ts';

type Project = z.output<typeof projectSchema>;

/** Streams declare the columns of their coordinates, and no others; times that are written in a form of their own have an offset. */
export function columns({ stations, streams, sensors, map }: Project, yaml: LocatedYaml): Problem[] {
  const problems: Problem[] = [];
  const say = (path: (string | number)[], message: string, hint: string): unknown =>
    problems.push(
      at(yaml, yaml.locate(path), (more) => problem('PROJECT_VALUE', message, { ...more, hint })),
    );
  streams.forEach((stream, i) => {
    const { name, coordinates } = stream;
    if (stream.format !== 'csv') {
      const given = Object.keys(stream.columns);
      if (given.length > 0)
        say(
          ['streams', i, 'columns'],
          `stream ${name} is in ${stream.format === 'sinex' ? 'SINEX' : 'NMEA'}, which has no columns to be named`,
          'no columns',
        );
      for (const id of Object.keys(stream.sites ?? {}))
        if (!stations.some((s) => s.id === id))
          say(
            ['streams', i, 'sites', id],
            `sites of stream ${name} name ${id}, which is not a station`,
            'ids of stations, each with the code of its site',
          );
      if (stream.format === 'nmea' && !stream.sites)
        say(
          ['streams', i, 'format'],
          `stream ${name} does not say whose log each file is`,
          'sites: { S1: "logs/S1*" }',
        );
      if (stream.format === 'nmea' && stream.timeScale === 'GPS')
        say(['streams', i, 'timeScale'], `stream ${name} is in NMEA, whose times are UTC`, 'UTC');
      return;
    }
    if (stream.sites)
      say(
        ['streams', i, 'sites'],
        `stream ${name} is in CSV, which names stations by their ids`,
        'format: sinex, or no sites',
      );
    const found = columnsOf(stream);
    if ('missing' in found) {
      if (found.missing.length > 0)
        say(
          ['streams', i, 'columns'],
          `columns of stream ${name} lack ${found.missing.join(', ')}`,
          `the columns of ${coordinates} coordinates and their uncertainty`,
        );
      if (found.strange.length > 0)
        say(
          ['streams', i, 'columns', found.strange[0]!],
          `columns of stream ${name} name ${found.strange.join(', ')}, which ${coordinates} coordinates with this uncertainty do not have`,
          '`coordinates` with the kind that these are of, or without them',
        );
    }
    if ((coordinates === 'map' || coordinates === 'site') && !map)
      say(
        ['streams', i, 'coordinates'],
        `stream ${name} is in coordinates of the project's map, and it has none`,
        'map: of the project',
      );
  });
  const timed = [
    ...streams.map((s, i) => ({ ...s, path: ['streams', i, 'dialect'], what: `stream ${s.name}` })),
    ...sensors.map((s, i) => ({ ...s, path: ['sensors', i, 'dialect'], what: `sensor ${s.name}` })),
  ];
  for (const { dialect, timeScale, path, what } of timed) {
    if (dialect.time !== undefined && timeScale === 'UTC' && dialect.utcOffset === undefined)
      say([...path, 'time'], `times of ${what} have no zone`, 'utcOffset: Z, or such as +01:00');
    if (dialect.utcOffset !== undefined && timeScale === 'GPS')
      say([...path, 'utcOffset'], `times of ${what} are GPS time, which has no zone`, 'no utcOffset');
    if (dialect.decimal === ',' && dialect.delimiter === ',')
      say(
        [...path, 'decimal'],
        `in ${what} a comma would end a field and a number alike`,
        'another delimiter, such as ;',
      );
  }
  return problems;
}
