export { mapProjection } from './epsg.ts';
export { MapProjection, type Distortion, type Grid } from './projection.ts';
export { SiteGrid, type SiteCoordinates, type SiteGridParameters } from './site-grid.ts';
