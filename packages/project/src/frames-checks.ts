import {
  ellipsoids,
  ellipsoidsAgree,
  FrameRegistry,
  mapProjection,
  platesOf,
  isPublishedFrame,
  type MapProjection,
} from '@stillmark/geodesy';
import { fail, problem, ProblemError, type Problem } from '@stillmark/problems';
import type { z } from 'zod';
import { at } from './explain.ts';
import type { LocatedYaml } from './locate.ts';
import type { projectSchema } from './schema.ts';

type Project = z.output<typeof projectSchema>;

/** Frames, maps and plates that must be known, and ways between frames that must lead somewhere. */
export function frames(project: Project, yaml: LocatedYaml): Problem[] {
  const registry = new FrameRegistry(project.transformations);
  const problems: Problem[] = [];
  /** Runs what throws problems, and puts them in their place. */
  const located = (path: readonly PropertyKey[], work: () => void): void => {
    try {
      work();
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error;
      const { severity: _, code, message, ...details } = error.problems[0]!;
      problems.push(at(yaml, yaml.locate(path), (place) => problem(code, message, { ...details, ...place })));
    }
  };

  project.transformations.forEach(({ from, to }, i) => {
    const say = (message: string, hint: string): unknown =>
      problems.push(
        at(yaml, yaml.locate(['transformations', i, 'to']), (place) =>
          problem('PROJECT_VALUE', message, { ...place, hint }),
        ),
      );
    if (from === to) say(`a transformation leads from ${from} to itself`, 'two frames');
    const first = project.transformations.findIndex(
      (other) => (other.from === from && other.to === to) || (other.from === to && other.to === from),
    );
    if (first < i)
      say(
        `the way between ${from} and ${to} is given twice, first as transformation ${first + 1}`,
        'each way once; the way back is its inverse',
      );
  });

  project.streams.forEach((stream, i) => {
    const { frame, plate, kind } = stream;
    if (frame)
      located(['streams', i, 'frame'], () => {
        const path = registry.path(frame.name, project.frame.name);
        // An absolute position has the time at which it was observed; a held base has the epoch of its coordinates.
        path.at(kind === 'absolute' ? (frame.epoch ?? 2020) : frame.epoch);
      });
    if (plate && !platesOf(plate.model).some(({ code }) => code === plate.name))
      problems.push(
        at(yaml, yaml.locate(['streams', i, 'plate', 'name']), (place) =>
          problem('GEODESY_FRAME', `the plate motion model of ${plate.model} has no plate '${plate.name}'`, {
            ...place,
            allowed: platesOf(plate.model).map(({ code }) => code),
          }),
        ),
      );
  });

  const { map } = project;
  /** A frame of the project's own has a datum of its own; the published ones all stand on GRS 1980. */
  const checkDatum = ({ ellipsoid, name }: MapProjection, frame: string, hint: string): void => {
    if (isPublishedFrame(frame) && !ellipsoidsAgree(ellipsoid, ellipsoids['GRS 1980']))
      fail(
        'GEODESY_FRAME',
        `${name} stands on an ellipsoid of its own, and ${frame} does not: coordinates would be a hundred metres off`,
        { hint },
      );
  };
  const wayToDatum =
    'a transformation to the datum of the map under transformations:, and its frame as frame:';
  if (map) {
    located(['map', 'projection'], () => {
      const projection = mapProjection(map.projection);
      if (map.siteGrid && projection.metres !== 1)
        fail(
          'GEODESY_PROJECTION',
          `${projection.name} is not in metres: the grid of a site cannot be tied to it`,
          {
            hint: 'a map in metres',
          },
        );
      checkDatum(projection, map.frame ?? project.frame.name, `${wayToDatum} of the map`);
    });
    if (map.frame !== undefined)
      located(['map', 'frame'], () => registry.path(project.frame.name, map.frame!).at(mapEpoch(project)));
  }
  const image = project.background?.image;
  if (image) {
    const { coordinates, frame } = image;
    const place = ['background', 'image'];
    if (coordinates === 'map' || coordinates === 'site') {
      located([...place, 'coordinates'], () => {
        if (!map)
          fail('PROJECT_REFERENCE', `the image lies on the ${coordinates} of the project, which has none`, {
            hint: 'map: with its projection; or coordinates: of the image, such as EPSG:25832',
          });
        if (coordinates === 'site' && !map.siteGrid)
          fail('PROJECT_REFERENCE', 'the image lies on the grid of the site, and the map has none', {
            hint: 'siteGrid: under map:',
          });
      });
      if (frame !== undefined)
        located([...place, 'frame'], () =>
          fail('PROJECT_VALUE', 'the map of the project has its own frame', {
            hint: 'no frame: here, or another map as coordinates:',
          }),
        );
    } else {
      const own = frame ?? map?.frame ?? project.frame.name;
      located([...place, 'coordinates'], () =>
        checkDatum(mapProjection(coordinates), own, `${wayToDatum} of the image; or the image on the map`),
      );
      located([...place, 'frame'], () => registry.path(project.frame.name, own).at(mapEpoch(project)));
    }
  }
  return problems;
}

/** Decimal year of the positions that are given on the map: as said, or of the plate, or of the held coordinates. */
export function mapEpoch({ map, streams, frame }: Project): number | undefined {
  const held = frame.epoch === undefined ? Number.NaN : Number(frame.epoch);
  return (
    map?.epoch ?? streams.find((s) => s.plate)?.plate?.epoch ?? (Number.isFinite(held) ? held : undefined)
  );
}
