import * as fc from 'fast-check';

/** One thing that is done to a file; places are parts of its length. */
export type Spoiling =
  | { readonly kind: 'flip'; readonly at: number; readonly bit: number }
  | { readonly kind: 'cut'; readonly at: number; readonly length: number }
  | { readonly kind: 'repeat'; readonly at: number; readonly length: number; readonly times: number }
  | { readonly kind: 'put'; readonly at: number; readonly what: Uint8Array; readonly over: number }
  | { readonly kind: 'end'; readonly at: number }
  | { readonly kind: 'move'; readonly from: number; readonly at: number; readonly length: number };

/** What files of others hold where nobody expects it. */
const odd = [
  '', '\u0000', '\ufeff', '\r', '\n', '\r\n', '\t', ' ', ',', ';', '"', "'", '""', '-', '+', '.', '1e999', '-0', 'NaN', 'Infinity', '1_000',
  '99999999999999999999', '0x1F', '1D+05', '٣', '\u202e', '\ud83d\ude00', '__proto__', 'constructor', 'toString', '$', '*', '>', '%ENDSNX', '$GPGGA,,,,,,,,,,,,,,*56',
  'END OF HEADER', '> 2026 11 22 00 00 18.0000000  4 99', '> 2026 11 22 00 00 18.0000000  0999', '2026-02-30T00:00:00Z', '1970-01-01T00:00:00Z', '{', '}', '[', ']', '&a', '*a', '<<: *a', '!!js/function x', '---', '|', 'null', 'true',
  '\u0080\u00ff', 'PK\u0003\u0004', '\u001f\u008b', 'x'.repeat(300), '\n'.repeat(50), ','.repeat(200), '['.repeat(200),
]; // prettier-ignore

const part = fc.double({ min: 0, max: 1, noNaN: true });
const length = fc.oneof(fc.nat({ max: 4 }), fc.nat({ max: 80 }), fc.nat({ max: 2000 }));

export const spoilings: fc.Arbitrary<Spoiling[]> = fc.array(
  fc.oneof(
    fc.record({ kind: fc.constant('flip' as const), at: part, bit: fc.nat({ max: 7 }) }),
    fc.record({ kind: fc.constant('cut' as const), at: part, length }),
    fc.record({ kind: fc.constant('repeat' as const), at: part, length, times: fc.nat({ max: 4 }) }),
    fc.record({
      kind: fc.constant('put' as const),
      at: part,
      what: fc.oneof(
        fc.constantFrom(...odd).map((s) => new TextEncoder().encode(s)),
        fc.uint8Array({ maxLength: 6 }),
      ),
      over: fc.nat({ max: 20 }),
    }),
    fc.record({ kind: fc.constant('end' as const), at: part }),
    fc.record({ kind: fc.constant('move' as const), from: part, at: part, length }),
  ),
  { minLength: 1, maxLength: 6 },
);

/** A file after all that was done to it. */
export function spoilt(bytes: Uint8Array, all: readonly Spoiling[]): Uint8Array {
  return all.reduce(spoiltOnce, bytes);
}

function spoiltOnce(bytes: Uint8Array, one: Spoiling): Uint8Array {
  const n = bytes.length;
  const at = Math.min(n, Math.floor(one.at * n));
  const joined = (...parts: readonly Uint8Array[]): Uint8Array => new Uint8Array(Buffer.concat(parts));
  switch (one.kind) {
    case 'flip': {
      if (n === 0) return bytes;
      const out = Uint8Array.from(bytes);
      out[Math.min(n - 1, at)]! ^= 1 << one.bit;
      return out;
    }
    case 'cut':
      return joined(bytes.subarray(0, at), bytes.subarray(at + one.length));
    case 'repeat': {
      const piece = bytes.subarray(at, at + one.length);
      return joined(
        bytes.subarray(0, at),
        ...Array.from({ length: one.times }, () => piece),
        bytes.subarray(at),
      );
    }
    case 'put':
      return joined(bytes.subarray(0, at), one.what, bytes.subarray(at + one.over));
    case 'end':
      return bytes.subarray(0, at);
    case 'move': {
      const from = Math.floor(one.from * n);
      return joined(bytes.subarray(0, at), bytes.subarray(from, from + one.length), bytes.subarray(at));
    }
  }
}
