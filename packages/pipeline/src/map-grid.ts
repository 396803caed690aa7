import {
  applyAffine,
  degrees,
  FrameRegistry,
  mapProjection,
  radians,
  SiteGrid,
  toGeodetic,
  type Geocentric,
  type MapProjection,
  type PlanePoint,
} from '@stillmark/geodesy';
import { mapEpoch, type Project } from '@stillmark/project';
import type { GridRecord, OnMap } from '@stillmark/records';

/** The map of a project, with the way to it and the grid of the site on it. */
export class ProjectGrid {
  readonly record: GridRecord;
  readonly #projection: MapProjection;
  readonly #site: SiteGrid | undefined;
  readonly #toMap: (point: Geocentric) => Geocentric;

  private constructor(
    project: Project,
    map: Pick<NonNullable<Project['map']>, 'projection' | 'frame' | 'siteGrid'>,
  ) {
    const { siteGrid } = map;
    this.#projection = mapProjection(map.projection);
    this.#site = siteGrid && new SiteGrid({ ...siteGrid, bearing: radians(siteGrid.bearing) });
    const { frame = project.frame.name } = map;
    const path = new FrameRegistry(project.transformations).path(project.frame.name, frame);
    const epoch = mapEpoch(project);
    const affine = path.at(epoch);
    this.#toMap = ({ x, y, z }) => {
      const point = Float64Array.of(x, y, z);
      applyAffine(affine, point, point);
      return { x: point[0]!, y: point[1]!, z: point[2]! };
    };
    this.record = {
      projection: this.#projection.name,
      unit: this.#projection.unit,
      frame,
      ...(path.needsEpoch && epoch !== undefined ? { epoch } : {}),
      ...(siteGrid
        ? { site: { name: siteGrid.name, bearingDeg: siteGrid.bearing, scale: siteGrid.scale } }
        : {}),
    };
  }

  static of(project: Project): ProjectGrid | undefined {
    return project.map && new ProjectGrid(project, project.map);
  }

  /** Another map than that of the project; in the frame of that unless said. */
  static on(project: Project, projection: string, frame = project.map?.frame): ProjectGrid {
    return new ProjectGrid(project, { projection, ...(frame === undefined ? {} : { frame }) });
  }

  /** Coordinates of a point on the map, in its unit, or on the grid of the site. */
  plane(point: Geocentric, on: 'map' | 'site'): PlanePoint {
    const map = this.#projection.fromGeodetic(toGeodetic(this.#projection.ellipsoid, this.#toMap(point)));
    if (on === 'map') return [map.easting, map.northing];
    const { x, y } = this.#site!.fromMap(map);
    return [x, y];
  }

  position(point: Geocentric, of: OnMap['of']): OnMap {
    const at = toGeodetic(this.#projection.ellipsoid, this.#toMap(point));
    const map = this.#projection.fromGeodetic(at);
    const { convergence, meridianScale, parallelScale } = this.#projection.distortion(at);
    return {
      of,
      ...map,
      height_m: at.height,
      convergenceDeg: degrees(convergence),
      meridianScale,
      parallelScale,
      ...(this.#site ? { site: this.#site.fromMap(map) } : {}),
    };
  }

  /** Azimuth of the y axis at a point: of the site's grid where there is one, else of grid north. */
  northAt(point: Geocentric): number {
    const at = toGeodetic(this.#projection.ellipsoid, this.#toMap(point));
    return this.#projection.distortion(at).convergence + (this.#site?.bearing ?? 0);
  }
}
