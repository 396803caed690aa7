import type { CommunicationRecord, SnapshotComparison } from '@stillmark/records';
import { inWords, type Words } from '@stillmark/words';
import { describe, expect, test } from 'vitest';
import { comparisonSections } from './comparison-text.ts';
import { commas, list, paragraph, semicolons } from './numbers.ts';
import { communicationSentence } from './plan.ts';
import { checkText } from './readiness.ts';
import { ZoneClock } from './times.ts';

/** A language with the forms of Polish: GNU gettext 0.22, manual, "Plural forms", "Three forms, special case for one and some numbers ending in 2, 3, or 4". */
const words = (messages: Words['messages']): Words => ({
  language: 'qtz',
  pluralForms: 'nplurals=3; plural=(n==1 ? 0 : n%10>=2 && n%10<=4 && (n%100<10 || n%100>=20) ? 1 : 2);',
  messages,
});

describe('whole sentences have the forms and the order of a language', () => {
  test.each([
    [1, 'ONE 1: 300 of SIM, 40 % left of 500'],
    [3, 'FEW 3: 300 of SIM, 40 % left of 500'],
    [5, 'MANY 5: 300 of SIM, 40 % left of 500'],
    [22, 'FEW 22: 300 of SIM, 40 % left of 500'],
  ])('%i stations send', (stations, said) => {
    const record = { of: 'SIM', stations, needed_MB: 300, plan_MB: 500 } as CommunicationRecord;
    const forms = ['ONE', 'FEW', 'MANY'].map((form) => `${form} {1}: {2} of {0}, {4} left of {3}`);
    const id = '{0}: {1} station sends {2}\u202fMB in 30 days; the plan allows {3}\u202fMB, {4} to spare.';
    expect(inWords(words({ [id]: forms }), () => communicationSentence(record)).replace('\u202f', ' ')).toBe(
      said,
    );
  });

  test.each([
    [1, 'ONE 1'],
    [4, 'FEW 4'],
    [12, 'MANY 12'],
  ])('%i steps', (value, said) => {
    const record = { check: 'steps', verdict: 'fail', value, limit: 0, unit: '' } as const;
    const spoken = words({ 'it holds {0} step that is no movement': ['ONE {0}', 'FEW {0}', 'MANY {0}'] });
    expect(inWords(spoken, () => checkText(record))).toBe(said);
  });

  test.each([
    [['B1'], 'ONE: B1'],
    [['B1', 'B2'], 'FEW: B1 + B2'],
    [['B1', 'B2', 'B3', 'B4', 'B5'], 'MANY: B1 / B2 / B3 / B4 + B5'],
  ])('%j in doubt', (doubted, said) => {
    const comparison = {
      stations: [],
      triggers: [],
      bases: { doubted, cleared: [], still: [] },
      inputs: [],
      configuration: [],
      doubts: { raised: [], settled: [] },
    } as unknown as SnapshotComparison;
    const spoken = words({
      '{0} is in doubt, and is new in it.': ['ONE: {0}', 'FEW: {0}', 'MANY: {0}'],
      '{0} and {1}': '{0} + {1}',
      '{0}, {1}': '{0} / {1}',
    });
    const [section] = inWords(spoken, () => comparisonSections(comparison, new ZoneClock('UTC')));
    expect(section?.sentences).toEqual([said]);
  });
});

describe('lists are ruled by a translation', () => {
  const spoken = words({ '{0} and {1}': '{1} after {0}', '{0}, {1}': '{0}、{1}', '{0}; {1}': '{0} | {1}' });
  test.each([
    [[], '', '', ''],
    [['a'], 'a', 'a', 'a'],
    [['a', 'b'], 'b after a', 'a、b', 'a | b'],
    [['a', 'b', 'c'], 'c after a、b', 'a、b、c', 'a | b | c'],
  ])('%j', (items, listed, row, clauses) => {
    expect(inWords(spoken, () => [list(items), commas(items), semicolons(items)])).toEqual([
      listed,
      row,
      clauses,
    ]);
  });

  test('in English as it always was', () => {
    const items = ['a', 'b', 'c'];
    expect([list(items), commas(items), semicolons(items)]).toEqual(['a, b and c', 'a, b, c', 'a; b; c']);
    expect(paragraph(['It is.', undefined, '', 'It was.'])).toBe('It is. It was.');
  });
});
