import {
  ellipsoidNamed,
  ellipsoidNames,
  ellipsoids,
  geocentricKind,
  geodeticKind,
  mapKind,
  mapProjection,
  radians,
  SiteGrid,
  topocentricKind,
  TopocentricFrame,
  type CoordinateKind,
  type Triple,
} from '@stillmark/geodesy';
import { fail } from '@stillmark/problems';
import type { Project } from '@stillmark/project';

/**
 * A kind of coordinates by its name: `geocentric`, `geodetic`, `geodetic:Airy 1830`, `topocentric` (with an origin), `EPSG:25832`, a
 * PROJ string, and with a project `map` and `site`.
 *
 * @param origin of topocentric axes: latitude and longitude in degrees, height in metres
 * @throws USE_OPTION for what is none of them, or lacks what it needs; GEODESY_PROJECTION
 */
export function coordinateKind(
  name: string,
  { origin }: { readonly origin?: Triple },
  project: Project | undefined,
): CoordinateKind {
  const text = name.trim();
  if (text === 'geocentric') return geocentricKind;
  if (text === 'geodetic') return geodeticKind(ellipsoids['GRS 1980']);
  if (text.startsWith('geodetic:')) {
    const wanted = text.slice('geodetic:'.length).trim();
    const ellipsoid = ellipsoidNamed(wanted);
    if (!ellipsoid)
      return fail('USE_OPTION', `the ellipsoid '${wanted}' is not known`, { allowed: ellipsoidNames });
    return geodeticKind(ellipsoid);
  }
  if (text === 'topocentric') {
    if (!origin)
      return fail('USE_OPTION', 'topocentric coordinates have an origin', { hint: '--origin 47.1,11.3,620' });
    const [latitude, longitude, height] = origin;
    if (Math.abs(latitude) > 90 || Math.abs(longitude) > 360)
      return fail('USE_OPTION', `the origin (${origin.join(', ')}) is no place`, {
        hint: 'latitude and longitude in degrees, height in metres',
      });
    const grs80 = ellipsoids['GRS 1980'];
    const at = { latitude: radians(latitude), longitude: radians(longitude), height };
    return topocentricKind(TopocentricFrame.atGeodetic(grs80, at), grs80);
  }
  if (text === 'map' || text === 'site') return ofProject(text, project);
  if (/^EPSG:/i.test(text) || text.startsWith('+')) return mapKind(mapProjection(text));
  return fail('USE_OPTION', `'${text}' is no kind of coordinates`, {
    allowed: ['geocentric', 'geodetic', 'topocentric', 'EPSG:<code>', 'a PROJ string', 'map', 'site'],
  });
}

function ofProject(name: 'map' | 'site', project: Project | undefined): CoordinateKind {
  const map = project?.map;
  if (!map)
    return fail('USE_OPTION', `the coordinates '${name}' are those of a project with a map`, {
      hint: project ? 'map: in project.yaml' : '--project, with its folder',
    });
  const projection = mapProjection(map.projection);
  if (name === 'map') return mapKind(projection);
  if (!map.siteGrid)
    return fail('USE_OPTION', 'the project gives no grid of the site', {
      hint: 'siteGrid: under map: in project.yaml',
    });
  return mapKind(projection, new SiteGrid({ ...map.siteGrid, bearing: radians(map.siteGrid.bearing) }));
}
