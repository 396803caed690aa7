/** From one set of axes to another: A_to A_from', row-major 3 x 3; axes are rows east, north and up, geocentric. */
export function turning(from: ArrayLike<number>, to: ArrayLike<number>): Float64Array {
  const r = new Float64Array(9);
  for (let i = 0; i < 3; i++)
    for (let j = 0; j < 3; j++)
      for (let k = 0; k < 3; k++) r[3 * i + j]! += to[3 * i + k]! * from[3 * j + k]!;
  return r;
}
