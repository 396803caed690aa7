import { afterEach, describe, expect, test } from 'vitest';
import {
  faultOf,
  inContext,
  inWords,
  language,
  localDigits,
  msg,
  piecesOf,
  plural,
  readPluralForms,
  speak,
  spokenPart,
  t,
  translated,
  type Words,
} from './index.ts';

const german = (messages: Words['messages']): Words => ({
  language: 'de',
  pluralForms: 'nplurals=2; plural=(n != 1);',
  messages,
});

afterEach(() => speak(undefined));

describe('messages', () => {
  const id = 'T07';
  const size = '6.2 mm';

  test('are English where nothing else is spoken, and where a message is not translated', () => {
    expect(t`${id} has moved ${size}.`).toBe('T07 has moved 6.2 mm.');
    speak(german({}));
    expect(t`${id} has moved ${size}.`).toBe('T07 has moved 6.2 mm.');
    expect(language()).toBe('de');
  });

  test('may have their places in another order, and keep the spaces around them', () => {
    speak(german({ '{0} has moved {1}.': 'Um {1} hat sich {0} bewegt.', down: 'abwärts' }));
    expect(t`${id} has moved ${size}.`).toBe('Um 6.2 mm hat sich T07 bewegt.');
    expect(t` down`).toBe(' abwärts');
  });

  test('what is filled in is not looked through for places', () => {
    speak(german({ '{0} and {1}': '{1} und {0}' }));
    expect(t`${'{1}'} and ${'$&{0}'}`).toBe('$&{0} und {1}');
    expect(t` ${'$&'} and ${'x'}`).toBe(' x und $&');
  });

  test('contexts tell apart what is the same in English', () => {
    speak(german({ up: 'nach oben', 'axis\u0004up': 'Höhe' }));
    expect([t`up`, inContext('axis')`up`]).toEqual(['nach oben', 'Höhe']);
    expect(translated({ up: 'up', list: ['up'] }, 'axis')).toMatchObject({ up: 'Höhe', list: ['Höhe'] });
  });

  test('names that every object has are no translations', () => {
    speak(german({}));
    expect([t`constructor`, t`toString`]).toEqual(['constructor', 'toString']);
  });

  test('after what is made in other words those of before are spoken again, also where it fails', () => {
    expect(inWords(german({ yes: 'ja' }), () => t`yes`)).toBe('ja');
    expect(() =>
      inWords(german({}), () => {
        throw new Error('x');
      }),
    ).toThrow('x');
    expect(language()).toBe('en');
  });

  test('a part of the words is handed over, and nothing in English', () => {
    expect(spokenPart(['yes'])).toBeUndefined();
    speak(german({ yes: 'ja', no: 'nein' }));
    expect(spokenPart(['yes', 'maybe'])?.messages).toEqual({ yes: 'ja' });
  });
});

// Forms and counts from memory of the GNU gettext manual, section 11.2.6 "Additional functions for plural forms", checked against
// Intl.PluralRules, whose data are those of CLDR.
describe('plural forms', () => {
  const forms: readonly [tag: string, header: string, categories: readonly Intl.LDMLPluralRule[]][] = [
    ['de', 'nplurals=2; plural=(n != 1);', ['one', 'other']],
    ['ja', 'nplurals=1; plural=0;', ['other']],
    [
      'pl',
      'nplurals=3; plural=(n==1 ? 0 : n%10>=2 && n%10<=4 && (n%100<10 || n%100>=20) ? 1 : 2);',
      ['one', 'few', 'many'],
    ],
    [
      'lt',
      'nplurals=3; plural=(n%10==1 && n%100!=11 ? 0 : n%10>=2 && (n%100<10 || n%100>=20) ? 1 : 2);',
      ['one', 'few', 'other'],
    ],
    [
      'sl',
      'nplurals=4; plural=(n%100==1 ? 0 : n%100==2 ? 1 : n%100==3 || n%100==4 ? 2 : 3);',
      ['one', 'two', 'few', 'other'],
    ],
  ];

  test.each(forms)('%s: as Intl.PluralRules for all counts to 1000', (tag, header, categories) => {
    const { formOf } = readPluralForms(header);
    const rules = new Intl.PluralRules(tag);
    for (let n = 0; n <= 1000; n++) expect(categories[formOf(n)], `${n}`).toBe(rules.select(n));
  });

  test('operators bind as in C', () => {
    expect(readPluralForms('nplurals=2; plural=!(n%2==0) && 7-2*3==1 || 9/2<4').formOf(3)).toBe(1);
    expect(readPluralForms('nplurals=2; plural=!(n%2==0) && 7-2*3==1 || 9/2<4').formOf(4)).toBe(0);
    expect(readPluralForms('nplurals=3; plural=n>1 ? n>2 ? 2 : 1 : 0').formOf(2)).toBe(1);
  });

  test.each([
    ['plural=n', /should read like/],
    ['nplurals=0; plural=0;', /one to six/],
    ['nplurals=2; plural=n;', /for 2 it gives 2/],
    ['nplurals=2; plural=n % 0;', /gives NaN/],
    ['nplurals=2; plural=process.exit(1)', /is left over|should/],
    ['nplurals=2; plural=(n != 1', /should/],
    [`nplurals=2; plural=${'('.repeat(600)}n`, /longer than/],
  ])('%s is refused', (header, why) => {
    expect(() => readPluralForms(header)).toThrow(why);
  });

  test('a count takes its form, in English and elsewhere', () => {
    const stations = (n: number): string => plural(n, msg`${n} station`, msg`${n} stations`);
    expect([0, 1, 2].map(stations)).toEqual(['0 stations', '1 station', '2 stations']);
    speak({
      ...german({ '{0} station': ['{0} stacja', '{0} stacje', '{0} stacji'] }),
      pluralForms: forms[2]![1],
    });
    expect([1, 2, 5, 22].map(stations)).toEqual(['1 stacja', '2 stacje', '5 stacji', '22 stacje']);
  });
});

// Decimal signs and minus signs of CLDR, as Intl has them on the machine that runs the test; between thousands a narrow space stands in
// every language unless a file says otherwise (SI brochure, 9th edition 2019, section 5.4.4).
test.each(['de', 'fr', 'sv', 'pl'])('signs of numbers: %s', (tag) => {
  const parts = new Intl.NumberFormat(tag, { useGrouping: 'always' }).formatToParts(-1234567.25);
  const sign = (type: string): string => parts.find((p) => p.type === type)!.value;
  speak(
    german({
      'decimal sign\u0004.': sign('decimal'),
      'between thousands\u0004\u202f': sign('group'),
      'minus sign\u0004\u2212': sign('minusSign'),
    }),
  );
  expect(localDigits('\u22121\u202f234\u202f567.25')).toBe(parts.map(({ value }) => value).join(''));
});

describe('elements in messages', () => {
  test('are taken apart by number; other tags are text', () => {
    expect(piecesOf('a {0} <1>b <2>c</2></1>. <script>x</script>')).toEqual([
      'a ',
      0,
      ' ',
      [1, 'b ', [2, 'c']],
      '. <script>x</script>',
    ]);
  });

  test.each([
    ['{0} moved {1}', '{1} bewegte {0}', undefined],
    ['{0} moved {1}', '{0} bewegt', 'it leaves out {1}'],
    ['{0} moved', '{0} {1}', 'it has {1}, which the message has not'],
    ['{0} moved', '{0} {0}', 'it has {0} twice'],
    ['<0>a</0>', '<0>a', '<0> is not closed'],
    ['<0>a</0> <1>b</1>', '<0><1>a</0></1>', '</0> closes nothing'],
    ['<0>a</0>', 'a', 'it leaves out <0>'],
  ])('%s as %s: %s', (message, translation, fault) => {
    expect(faultOf(message, translation)).toBe(fault);
  });
});
