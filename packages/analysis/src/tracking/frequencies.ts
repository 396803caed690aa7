/** Speed of light in vacuum, metres a second. */
export const lightSpeed = 299_792_458;

/** Carrier frequencies by constellation and band, MHz (RINEX 3.05, tables 4 to 10). */
const carriers: Readonly<Record<string, Readonly<Record<string, number>>>> = {
  G: { 1: 1575.42, 2: 1227.6, 5: 1176.45 },
  R: { 3: 1202.025, 4: 1600.995, 6: 1248.06 },
  E: { 1: 1575.42, 5: 1176.45, 6: 1278.75, 7: 1207.14, 8: 1191.795 },
  C: { 1: 1575.42, 2: 1561.098, 5: 1176.45, 6: 1268.52, 7: 1207.14, 8: 1191.795 },
  J: { 1: 1575.42, 2: 1227.6, 5: 1176.45, 6: 1278.75 },
  I: { 1: 1575.42, 5: 1176.45, 9: 2492.028 },
  S: { 1: 1575.42, 5: 1176.45 },
};

/** GLONASS divides its first two bands among its satellites: frequency and step, MHz. */
const divided: Readonly<Record<string, readonly [number, number]>> = {
  1: [1602, 9 / 16],
  2: [1246, 7 / 16],
};

/**
 * Wavelength of the carrier of a signal, metres; undefined where the band is not known, or the channel of a GLONASS satellite is not.
 *
 * @param signal band and kind of tracking, such as `1C`
 * @param channel number of the frequency, of GLONASS
 */
export function wavelength(system: string, signal: string, channel: number | undefined): number | undefined {
  const band = signal[0]!;
  const shared = system === 'R' ? divided[band] : undefined;
  if (shared) {
    if (channel === undefined || channel < -7 || channel > 13) return undefined;
    return lightSpeed / (1e6 * (shared[0] + channel * shared[1]));
  }
  const carrier = carriers[system]?.[band];
  return carrier === undefined ? undefined : lightSpeed / (1e6 * carrier);
}
