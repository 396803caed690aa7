import type { AlarmLoadRecord, CandidateRecord } from '@stillmark/records';
import { expect, test } from 'vitest';
import {
  delayText,
  falseAlarmText,
  loadBasisSentence,
  loadSentences,
  messagesText,
  requirementSentence,
} from './index.ts';

const plain = (text: string): string => text.replaceAll('\u202f', ' ');
const day = 86_400_000;
const candidate = (more: Partial<CandidateRecord> = {}): CandidateRecord => ({
  windowMs: day,
  level_mm: 6,
  persistence: { needed: 2, of: 3 },
  basis: 'confident',
  release: 0.8,
  network: 0.0821,
  median: 0.01,
  worst: 0.03,
  quiet: 0.93,
  messages: 0.0054,
  step: { halfMs: day, nineMs: 1.5 * day },
  meets: true,
  ...more,
});
const load = (more: Partial<AlarmLoadRecord> = {}): AlarmLoadRecord => ({
  quantity: 'transverse',
  side: 'either',
  measured: ['T01', 'T02'],
  assumed: ['T12'],
  shared: 0.465,
  referenceDays: 28,
  left: [],
  months: 768,
  requirement: { falseAlarms: 0.5, step: { size_mm: 12, withinMs: 2 * day } },
  candidates: [candidate(), candidate({ level_mm: 15, trigger: 'slide, alert', meets: false, step: {} })],
  recommended: 0,
  ...more,
});

test('what is recommended, with why; and what the levels that are set do', () => {
  expect(loadSentences(load()).map(plain)).toEqual([
    'Recommended: means of 24 h, level 6 mm, 2 of 3, by the nearer end of its interval. It alone meets what is asked: false alarms in 30 days 0.082, the sudden movement in 1.50 d (nine of ten cases, slowest station).',
    'slide, alert (means of 24 h, level 15 mm, 2 of 3, by the nearer end of its interval) does not meet what is asked: false alarms in 30 days 0.082, the sudden movement not in time (its level is above it) (nine of ten cases, slowest station).',
  ]);
});

test('where nothing meets what is asked nothing is recommended', () => {
  const { recommended: _, ...none } = load({ candidates: [candidate({ meets: false })], nearest: 0 });
  const [said] = loadSentences(none);
  expect(plain(said!)).toContain('None of 1 candidate meets what is asked. The one that misses it least:');
  expect(said).not.toContain('Recommended');
});

test('numbers are as short as they can be, and nothing seen is not zero', () => {
  expect(falseAlarmText(candidate({ network: 0 }), load())).toBe('none in 768 months');
  expect(falseAlarmText(candidate({ network: 3.66 }), load())).toBe('3.66');
  expect(messagesText(candidate())).toBe('0.005');
  expect(messagesText(candidate({ messages: 0.0002 }))).toBe('under 0.001');
  expect(plain(delayText({ nineMs: 14.5 * day }, 'nineMs'))).toBe('14.5 d');
  expect(delayText({}, 'nineMs')).toBe('not in time');
  expect(plain(requirementSentence(load()))).toBe(
    'Asked: at most 0.5 false alarms in 30 days from all stations together, and a sudden movement of 12 mm within 2 days of its begin found in nine of ten cases.',
  );
  expect(plain(loadBasisSentence(load()))).toContain(
    'over 768 months of the network with the measured noise of T01 and T02 and the noise that project.yaml assumes for T12; 47 % of the variance',
  );
});
