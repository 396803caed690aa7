import { parseDuration, parseInstant } from '@stillmark/records';
import { z } from 'zod';

// Quantities are text with a unit; `examples` is what a mistake is answered with.

/** An instant with its zone, in milliseconds of UTC. */
export const instant = z
  .string()
  .transform((value, context) => {
    const result = parseInstant(value);
    if (result.ok) return result.ms;
    context.addIssue({ code: 'custom', message: result.reason });
    return z.NEVER;
  })
  .meta({
    title: 'date and time with zone',
    examples: ['2026-03-01T06:00:00Z', '2026-03-01T07:00:00+01:00'],
  });

/** A span of time, in milliseconds. */
export const duration = z
  .string()
  .transform((value, context) => {
    const ms = parseDuration(value);
    if (ms !== undefined) return ms;
    context.addIssue({ code: 'custom', message: `'${value}' is not a span of time` });
    return z.NEVER;
  })
  .meta({ title: 'span of time (min, h, d)', examples: ['30 min', '6 h', '14 d'] });

/** A movement with its unit, of either sign, in metres. */
export const signedLength = z
  .string()
  .transform((value, context) => {
    const match = /^([+-]?)(\d+(?:\.\d+)?)\s*(mm|cm|m)$/.exec(value.trim().replace('\u2212', '-'));
    const size = match ? Number(match[2]) * metres[match[3]!]! : Number.NaN;
    if (size <= longest) return match![1] === '-' ? -size : size;
    context.addIssue({ code: 'custom', message: `'${value}' is not a movement` });
    return z.NEVER;
  })
  .meta({ title: 'movement (mm, cm, m), of either sign', examples: ['-1.2 mm', '0 mm', '0.4 cm'] });

const metres: Record<string, number> = { mm: 0.001, cm: 0.01, m: 1 };

/** No length of a project is longer than this, in metres: requirements and masts. */
const longest = 1000;

/** A length with its unit, in metres. */
export const length = z
  .string()
  .transform((value, context) => {
    const match = /^(\d+(?:\.\d+)?)\s*(mm|cm|m)$/.exec(value.trim());
    const size = match ? Number(match[1]) * metres[match[2]!]! : 0;
    if (size > 0 && size <= longest) return size;
    context.addIssue({ code: 'custom', message: `'${value}' is not a length` });
    return z.NEVER;
  })
  .meta({ title: 'length (mm, cm, m)', examples: ['10 mm', '1.5 cm'] });
