import { z } from 'zod';
import { count, eventKind, instant, perAxis, rate, span, vector } from './schema-parts.ts';

const creep = z.strictObject({ value_mm: z.number(), plusMinus_mm: z.number() });

export const trajectory = z
  .strictObject({
    windowMs: z.number().positive(),
    windows: count,
    velocity: rate,
    robust: z
      .strictObject({
        kind: z.enum(['yearly pairs', 'all pairs']),
        east_mm: z.number(),
        north_mm: z.number(),
        up_mm: z.number(),
        eastError_mm: z.number(),
        northError_mm: z.number(),
        upError_mm: z.number(),
      })
      .exactOptional(),
    annual: perAxis(
      z.strictObject({ amplitude_mm: z.number(), plusMinus_mm: z.number(), peakDay: z.number() }),
    ).exactOptional(),
    steps: z.array(
      z.strictObject({
        at: instant,
        what: z.string(),
        kind: eventKind,
        east_mm: z.number(),
        north_mm: z.number(),
        up_mm: z.number(),
        eastPlusMinus_mm: z.number(),
        northPlusMinus_mm: z.number(),
        upPlusMinus_mm: z.number(),
      }),
    ),
    creeps: z.array(
      z.strictObject({
        at: instant,
        what: z.string(),
        kind: z.enum(['exponential', 'logarithmic']),
        spanDays: z.number(),
        shortestDays: z.number(),
        longestDays: z.number(),
        east: creep,
        north: creep,
        up: creep,
      }),
    ),
    changes: z
      .array(
        z.strictObject({
          kind: z.enum(['step', 'rate']),
          at: instant,
          earliest: instant,
          latest: instant,
          p: z.number(),
          east_mm: z.number(),
          north_mm: z.number(),
          up_mm: z.number(),
          eastPlusMinus_mm: z.number(),
          northPlusMinus_mm: z.number(),
          upPlusMinus_mm: z.number(),
        }),
      )
      .describe('Changes that no event names: steps in mm, rates in mm a year. In no figure.'),
    noise: perAxis(
      z.strictObject({
        white_mm: z.number(),
        flicker_mm: z.number(),
        share: z.number(),
        shareLow: z.number(),
        shareHigh: z.number(),
        index: z.number(),
        indexLow: z.number(),
        indexHigh: z.number(),
      }),
    ),
    spectrum: perAxis(
      z.array(
        z.strictObject({
          longest: z.number(),
          shortest: z.number(),
          frequencies: count,
          density: z.number(),
          low: z.number(),
          high: z.number(),
          expected: z.number(),
        }),
      ),
    ).describe(
      'Power of what the terms leave by bands of periods (days), mm2 days, and what the noise has there.',
    ),
  })
  .describe('The whole series as a straight line, seasons and steps, with white and flicker noise.');

const check = z.strictObject({
  check: z.enum([
    'span',
    'windows',
    'hours',
    'cycle',
    'satellites',
    'settled',
    'drift',
    'steps',
    'bases',
    'confounding',
    'lag',
  ]),
  of: z.string().exactOptional(),
  unit: z.string(),
  value: z.number().exactOptional(),
  limit: z.number(),
  p: z.number().exactOptional(),
  verdict: z.enum(['pass', 'not yet', 'fail']),
});

export const readiness = z
  .strictObject({
    ...span,
    ready: z.boolean(),
    readyAt: instant.exactOptional(),
    checks: z.array(check),
    hours: z.array(count).describe('On how many days each of the 24 sidereal hours was observed.'),
    running: z
      .strictObject({
        day: z.array(z.number()),
        horizontal_mm: z.array(z.number()),
        up_mm: z.array(z.number()),
      })
      .describe('The mean of the period up to the end of each of its days, less that of the whole.'),
  })
  .describe('Whether a span of positions can serve as reference period: evidence, limits and verdicts.');

const coefficient = z.strictObject({ value_mm: z.number(), plusMinus_mm: z.number(), share: z.number() });
const band = z.strictObject({ before_mm: z.number(), after_mm: z.number() });

export const response = z
  .strictObject({
    ...span,
    commitment: z
      .strictObject({ by: z.string(), committed: instant, despite: z.string().exactOptional() })
      .exactOptional(),
    meansMs: z.number().positive(),
    means: count,
    seasons: z.boolean(),
    covariates: z.array(
      z.strictObject({
        sensor: z.string(),
        what: z.string(),
        unit: z.string(),
        lagMs: z.number(),
        lagLowMs: z.number(),
        lagHighMs: z.number(),
        low: z.number(),
        high: z.number(),
        east: coefficient,
        north: coefficient,
        up: coefficient,
        withVelocity: z.number(),
        withOthers: z.array(z.strictObject({ sensor: z.string(), correlation: z.number() })),
      }),
    ),
    band: perAxis(band),
    checks: z.array(check),
    corrected: z
      .strictObject({
        today: z.array(
          z.strictObject({
            sensor: z.string(),
            value: z.number(),
            change: z.number(),
            extrapolated: z.boolean(),
          }),
        ),
        ...vector,
        velocity: rate.exactOptional(),
      })
      .exactOptional()
      .describe('The displacement less the committed response.'),
    reason: z.string().exactOptional(),
  })
  .describe('What logs do to a station. Without a commitment it stands in no figure.');

const wave = z.strictObject({
  amplitude_mm: z.number(),
  plusMinus_mm: z.number(),
  peakMs: z.number(),
  p: z.number(),
});

export const waves = z.array(
  z.strictObject({
    name: z.enum(['S1', 'S2', 'M2', 'O1']),
    periodMs: z.number().positive(),
    east: wave,
    north: wave,
    up: wave,
  }),
);

export const heights = z.array(
  z.strictObject({
    stream: z.string(),
    stations: count,
    heightSpan_m: z.number(),
    days: count,
    scatter_mm: z.number(),
    expected_mm: z.number(),
    annual: z
      .strictObject({ amplitude_mm: z.number(), plusMinus_mm: z.number(), peakDay: z.number() })
      .exactOptional(),
  }),
);

const pairStatement = z.strictObject({
  window: z.strictObject({ ...span, windows: count }),
  east_mm: z.number(),
  north_mm: z.number(),
  up_mm: z.number(),
  distance: vector.up,
  settlement: vector.up,
  tilt_mm_m: z.number().exactOptional(),
  tiltPlusMinus_mm_m: z.number().exactOptional(),
});

export const pairs = z
  .array(
    z.strictObject({
      name: z.string(),
      from: z.string(),
      to: z.string(),
      stream: z.string(),
      distance_m: z.number(),
      horizontal_m: z.number(),
      azimuthDeg: z.number(),
      reference: z.strictObject(span).exactOptional(),
      statement: pairStatement.exactOptional(),
      reason: z.string().exactOptional(),
    }),
  )
  .describe(
    'Of two stations in one stream: the position of the second less that of the first, against the reference period.',
  );

export const profiles = z
  .array(
    z.strictObject({
      name: z.string(),
      stations: z.array(z.string()),
      stream: z.string(),
      segments: z.array(
        z.strictObject({
          from: z.string(),
          to: z.string(),
          length_m: z.number(),
          distortion: vector.up.exactOptional(),
          distortion_mm_m: z.number().exactOptional(),
          distortionPlusMinus_mm_m: z.number().exactOptional(),
          detectable_mm_m: z.number().exactOptional(),
          reason: z.string().exactOptional(),
        }),
      ),
    }),
  )
  .describe('Angular distortion of each part of a line: its tilt less that of the whole line.');

const baseMovement = z.strictObject({
  id: z.string(),
  stable: z.boolean(),
  east_mm: z.number(),
  north_mm: z.number(),
  up_mm: z.number(),
  horizontal: vector.horizontal,
  up: vector.up,
});

export const stability = z
  .strictObject({
    bases: z.array(z.string()),
    left: z.array(z.strictObject({ id: z.string(), why: z.string() })),
    window: z.strictObject(span),
    reference: z.strictObject(span),
    statistic: z.number(),
    dimension: count,
    degreesOfFreedom: z.number(),
    p: z.number(),
    significance: z.number(),
    persistence: count,
    finding: z.discriminatedUnion('kind', [
      z.strictObject({ kind: z.literal('congruent') }),
      z.strictObject({ kind: z.literal('watch'), accused: z.array(z.string()) }),
      z.strictObject({ kind: z.literal('unclear'), since: instant }),
      z.strictObject({
        kind: z.literal('moving'),
        moving: z.array(
          z.strictObject({
            id: z.string(),
            since: instant,
            earliest: instant.exactOptional(),
            latest: instant.exactOptional(),
          }),
        ),
      }),
    ]),
    movements: z.array(baseMovement).describe('In the datum of the bases that stand still.'),
    days: z.array(z.strictObject({ at: instant, p: z.number(), accused: z.array(z.string()) })),
    series: z.array(
      z.strictObject({
        id: z.string(),
        east_mm: z.array(z.number()),
        north_mm: z.array(z.number()),
        up_mm: z.array(z.number()),
      }),
    ),
  })
  .describe('Congruency of the bases against the reference period, and which of them moves.');

export const decisions = z.array(
  z.strictObject({
    base: z.string(),
    finding: z.enum(['moving', 'stable']),
    since: instant.exactOptional(),
    by: z.string(),
    at: instant,
    why: z.string(),
  }),
);

export const ontoStable = z.strictObject({
  stable: z.array(z.string()),
  east_mm: z.number(),
  north_mm: z.number(),
  up_mm: z.number(),
  horizontal: vector.horizontal,
  up: vector.up,
});

export const acceleration = z
  .strictObject({
    ...span,
    axis: z.enum(['horizontal', 'up']),
    azimuthDeg: z.number().exactOptional(),
    first_mm: z.number(),
    last_mm: z.number(),
    p: z.number(),
    days: z.number(),
    earliestDays: z.number(),
    latestDays: z.number().exactOptional(),
  })
  .describe(
    'A movement that grows faster, by its inverse velocity; only where that is significant. No forecast.',
  );
