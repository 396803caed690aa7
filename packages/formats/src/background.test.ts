import { affineDeterminant, throughAffine } from '@stillmark/geodesy';
import { formatProblem, ProblemError } from '@stillmark/problems';
import { describe, expect, test } from 'vitest';
import { readImageHead, readMapLayer, readWorldFile } from './index.ts';

const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);
const refusal = (work: () => unknown): string => {
  try {
    work();
  } catch (error) {
    if (error instanceof ProblemError) return error.problems.map(formatProblem).join('\n');
    throw error;
  }
  return 'not refused';
};

describe('world file', () => {
  const lines = ['2', '0', '0', '-2', '488000', '6126600'];
  const read = (...own: string[]): string => refusal(() => readWorldFile(bytes(own.join('\n')), 'site.pgw'));

  // The order of the lines A, D, B, E, C, F: GDAL, 'WLD -- ESRI World File'; tests/worked-examples has the figures of gdalinfo.
  test('steps of columns come before those of rows, x before y', () => {
    const map = readWorldFile(bytes('1\n2\n3\n-4\n10\n20\n'), 'site.pgw');
    expect(map).toEqual({ origin: [10, 20], x: [1, 2], y: [3, -4] });
    expect(throughAffine(map, [5, 7])).toEqual([10 + 5 + 21, 20 + 10 - 28]);
  });

  test('line ends of any system, exponents, blanks and blank lines at the end are taken', () => {
    for (const end of ['\n', '\r\n', '\r'])
      expect(
        readWorldFile(
          bytes(`${[' 2.0', '0', '0', '-2e0 ', '+488000', '6126600'].join(end)}${end}${end}`),
          'a',
        ),
      ).toEqual({ origin: [488_000, 6_126_600], x: [2, 0], y: [0, -2] });
  });

  test('rows that go up, and columns that go left, are maps too', () => {
    expect(affineDeterminant(readWorldFile(bytes('-2\n0\n0\n2\n0\n0'), 'a'))).toBe(-4);
    expect(affineDeterminant(readWorldFile(bytes('0\n-2\n-2\n0\n0\n0'), 'a'))).toBe(-4);
  });

  test.each([
    ['five lines', lines.slice(0, 5), /site\.pgw:5 error BACKGROUND_INVALID[^]*has 5 lines[^]*six lines/],
    ['seven lines', [...lines, '0'], /site\.pgw:7 error[^]*has 7 lines/],
    ['nothing', [''], /has no lines/],
    [
      'a decimal comma',
      lines.with(4, '488000,5'),
      /site\.pgw:5:1 error[^]*'488000,5' is not a number[^]*decimal point/,
    ],
    ['words', lines.with(3, '  down'), /site\.pgw:4:3 error[^]*\(E\)/],
    ['a blank line between', lines.with(1, ''), /site\.pgw:2:1 error/],
    ['more than a number can be', lines.with(0, '1e999'), /'1e999' is not a number/],
    ['no steps of rows', lines.with(3, '0'), /A E - B D is zero/],
    ['rows along columns', ['1', '2', '2', '4', '0', '0'], /lead along one line/],
    ['two wrong lines', lines.with(0, 'x').with(5, 'y'), /site\.pgw:1:1[^]*site\.pgw:6:1/],
  ])('%s: what is wrong is told, and where', (_, own, expected) => {
    expect(read(...own)).toMatch(expected);
  });

  test('an image in place of the world file is no text', () => {
    expect(refusal(() => readWorldFile(Uint8Array.of(0x89, 0x50, 0, 1), 'a.pgw'))).toMatch(/INPUT_NOT_TEXT/);
  });
});

/** The signature and the chunk IHDR of a PNG (W3C, 'PNG specification', 5.2 and 11.2.1), and its end; nothing is drawn of it. */
const png = (width: number, height: number): Uint8Array => {
  const out = new Uint8Array(8 + 25 + 12);
  const view = new DataView(out.buffer);
  out.set([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
  view.setUint32(8, 13);
  out.set(bytes('IHDR'), 12);
  view.setUint32(16, width);
  view.setUint32(20, height);
  out.set([8, 0, 0, 0, 0], 24);
  out.set([0, 0, 0, 0, ...bytes('IEND'), 0xae, 0x42, 0x60, 0x82], 33);
  return out;
};
/** SOI, an APP1 segment with the orientation where one is given, SOF0, EOI (ITU-T T.81, annex B; Exif 2.32, 4.6.4). */
const jpeg = (width: number, height: number, orientation?: number): Uint8Array => {
  const exif = orientation === undefined ? [] : [
    0xff, 0xe1, 0, 34, ...bytes('Exif'), 0, 0, 0x4d, 0x4d, 0, 42, 0, 0, 0, 8,
    0, 1, 1, 18, 0, 3, 0, 0, 0, 1, 0, orientation, 0, 0, 0, 0, 0, 0,
  ]; // prettier-ignore
  const size = [height >> 8, height & 255, width >> 8, width & 255];
  return Uint8Array.of(
    0xff, 0xd8, 0xff, 0xe0, 0, 4, 0, 0, ...exif, 0xff, 0xc0, 0, 11, 8, ...size, 1, 1, 17, 0, 0xff, 0xd9,
  ); // prettier-ignore
};

describe('image', () => {
  const read = (own: Uint8Array): string => refusal(() => readImageHead(own, 'site.png'));

  test('a PNG and a JPEG are told by their bytes, with their size', () => {
    expect(readImageHead(png(800, 600), 'a.jpg')).toEqual({
      type: 'png',
      mime: 'image/png',
      width_px: 800,
      height_px: 600,
    });
    expect(readImageHead(jpeg(640, 481), 'a')).toMatchObject({ type: 'jpg', width_px: 640, height_px: 481 });
    expect(readImageHead(jpeg(640, 481, 1), 'a')).toMatchObject({ width_px: 640 });
  });

  test('a WebP too', () => {
    const size = [15, 1, 0, 9, 2, 0];
    const webp = [...bytes('RIFF'), 23, 0, 0, 0, ...bytes('WEBPVP8X'), 10, 0, 0, 0, 0, 0, 0, 0, ...size, 0];
    expect(readImageHead(Uint8Array.from(webp), 'a')).toEqual({
      type: 'webp',
      mime: 'image/webp',
      width_px: 272,
      height_px: 522,
    });
    expect(refusal(() => readImageHead(Uint8Array.from(webp.slice(0, -1)), 'a'))).toMatch(/cut off/);
  });

  test.each([
    ['a text', bytes('not an image'), /something else, and no image/],
    ['nothing', new Uint8Array(), /an empty file/],
    ['a drawing', bytes('<svg xmlns="http://www.w3.org/2000/svg"><script/></svg>'), /a text such as SVG/],
    ['a TIFF', bytes('II*\0\b\0\0\0'), /a TIFF[^]*PNG/],
    ['a PNG without a head', png(800, 600).slice(0, 12), /cannot be read|cut off/],
    ['a PNG that is cut off', png(800, 600).slice(0, -3), /cut off/],
    ['a PNG of no pixels', png(0, 600), /0 by 600 pixels/],
    ['a PNG of more pixels than phones draw', png(8000, 2100), /8000 by 2100 pixels, at most/],
    ['a JPEG without a size', Uint8Array.of(0xff, 0xd8, 0xff, 0xe0, 0, 2, 0xff, 0xd9), /size cannot be read/],
    ['a JPEG that is to be turned', jpeg(640, 480, 6), /orientation 6/],
  ])('%s is refused', (_, own, expected) => {
    expect(read(own)).toMatch(expected);
  });
});

describe('layer of lines', () => {
  const layer = (...features: [unknown, unknown][]): Uint8Array =>
    bytes(
      JSON.stringify({
        type: 'FeatureCollection',
        features: features.map(([geometry, properties]) => ({ type: 'Feature', geometry, properties })),
      }),
    );
  const line = { type: 'LineString', coordinates: [[9, 46, 320], [9.1, 46.1, 320]] }; // prettier-ignore
  const ring = { type: 'Polygon', coordinates: [[[0, 0], [1, 0], [1, 1], [0, 0]]] }; // prettier-ignore

  test('any kind of feature is a line, labelled by a word or a number', () => {
    const lines = readMapLayer(
      layer([line, { kind: 'isoline', elevation: 320 }], [ring, { elevation: ' top\u202e ' }], [line, null]),
      'c.geojson',
      'elevation',
    );
    expect(lines.map(({ label, closed }) => [label, closed])).toEqual([
      ['320', false],
      ['top', true],
      [undefined, false],
    ]);
    expect(lines[0]!.points).toEqual([
      [9, 46],
      [9.1, 46.1],
    ]);
  });

  test.each([
    ['no GeoJSON', bytes('{"type":'), undefined, /c\.geojson:1:\d+ error BACKGROUND_INVALID\s+not GeoJSON/],
    [
      'a character that is not seen in a number',
      bytes(`{"type":"LineString",\n"coordinates":[[9,46],[9,\u000b47]]}`),
      undefined,
      /c\.geojson:2:26 error BACKGROUND_INVALID\s+not GeoJSON: a character/,
    ],
    ['points alone', layer([{ type: 'Point', coordinates: [0, 0] }, {}]), undefined, /has no lines/],
    ['labels that nothing has', layer([line, { ele: 3 }]), 'elevation', /no feature has a property[^]*ele/],
    ['labels that are no words', layer([line, { e: [1] }]), 'e', /feature 1 is neither text nor a number/],
    ['sentences as labels', layer([line, { e: 'x'.repeat(25) }]), 'e', /has 25 characters/],
    [
      'too many points',
      layer([
        { type: 'LineString', coordinates: Array.from({ length: 20_001 }, (_, i) => [i / 1e5, 0]) },
        {},
      ]),
      undefined,
      /20001 points, at most 20000/,
    ],
  ])('%s: refused', (_, own, labels, expected) => {
    expect(refusal(() => readMapLayer(own, 'c.geojson', labels))).toMatch(expected);
  });
});
