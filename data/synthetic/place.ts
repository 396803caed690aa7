/** East, north and up at a place on GRS 1980, as geocentric differences; written apart from the geodesy room. */

const a = 6_378_137;
const e2 = 0.006_694_380_022_903_416;

export interface Place {
  readonly latitude: number;
  readonly longitude: number;
  readonly height: number;
}

export type Vector = readonly [number, number, number];

export function geocentric({ latitude, longitude, height }: Place): Vector {
  const [lat, lon] = [(latitude * Math.PI) / 180, (longitude * Math.PI) / 180];
  const nu = a / Math.sqrt(1 - e2 * Math.sin(lat) ** 2);
  return [
    (nu + height) * Math.cos(lat) * Math.cos(lon),
    (nu + height) * Math.cos(lat) * Math.sin(lon),
    (nu * (1 - e2) + height) * Math.sin(lat),
  ];
}

/** Unit vectors east, north, up in geocentric axes. */
export function axesAt({ latitude, longitude }: Place): { east: Vector; north: Vector; up: Vector } {
  const [lat, lon] = [(latitude * Math.PI) / 180, (longitude * Math.PI) / 180];
  const [sinLat, cosLat, sinLon, cosLon] = [Math.sin(lat), Math.cos(lat), Math.sin(lon), Math.cos(lon)];
  return {
    east: [-sinLon, cosLon, 0],
    north: [-sinLat * cosLon, -sinLat * sinLon, cosLat],
    up: [cosLat * cosLon, cosLat * sinLon, sinLat],
  };
}
