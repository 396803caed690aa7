/**
 * Which form of a translation a count takes, by the header `Plural-Forms` of a PO file, for example `nplurals=2; plural=(n != 1);`. Evaluated
 * here and not by the plural rules of the machine, which change with the data it was built with; never run as code, since the file is
 * somebody's.
 *
 * Source: GNU gettext 0.22, manual, "Additional functions for plural forms": operators of C on n, without assignment.
 */
export interface PluralForms {
  /** How many forms there are. */
  readonly forms: number;
  /** The form of a count, from 0 on. */
  readonly formOf: (n: number) => number;
}

type Expression = (n: number) => number;

/** Binary operators of C that bind equally, from the loosest. */
const operators: readonly Readonly<Record<string, (a: number, b: number) => number>>[] = [
  { '||': (a, b) => Number(a !== 0 || b !== 0) },
  { '&&': (a, b) => Number(a !== 0 && b !== 0) },
  { '==': (a, b) => Number(a === b), '!=': (a, b) => Number(a !== b) },
  {
    '<=': (a, b) => Number(a <= b),
    '>=': (a, b) => Number(a >= b),
    '<': (a, b) => Number(a < b),
    '>': (a, b) => Number(a > b),
  },
  { '+': (a, b) => a + b, '-': (a, b) => a - b },
  { '*': (a, b) => a * b, '/': (a, b) => Math.trunc(a / b), '%': (a, b) => a % b },
];

/** Throws a RangeError that says what is wrong with the header. */
export function readPluralForms(header: string): PluralForms {
  const parts = /^\s*nplurals\s*=\s*(\d+)\s*;\s*plural\s*=\s*([^;]+?)\s*;?\s*$/.exec(header);
  if (!parts) throw new RangeError('it should read like "nplurals=2; plural=(n != 1);"');
  const forms = Number(parts[1]);
  if (forms < 1 || forms > 6) throw new RangeError('there are one to six forms');
  const expression = parse(parts[2]!);
  for (let n = 0; n <= 1000; n++) {
    const form = expression(n);
    if (!Number.isInteger(form) || form < 0 || form >= forms)
      throw new RangeError(`for ${n} it gives ${form}, which is no form from 0 to ${forms - 1}`);
  }
  return {
    forms,
    // Counts are not endless, yet none may give a form that is not there.
    formOf: (n) => Math.min(forms - 1, Math.max(0, Math.trunc(expression(Math.abs(Math.trunc(n))) || 0))),
  };
}

function parse(text: string): Expression {
  if (text.length > 500) throw new RangeError('it is longer than 500 characters');
  const tokens = text.match(/\d+|n|[|&=!<>]{2}|[-+*/%?:()<>!]|\S/g) ?? [];
  let at = 0;
  const take = (token: string): boolean => tokens[at] === token && ++at > 0;
  const expect = (token: string): void => {
    if (!take(token)) throw new RangeError(`"${tokens[at] ?? 'its end'}" stands where "${token}" should`);
  };

  function choice(): Expression {
    const condition = binary(0);
    if (!take('?')) return condition;
    const yes = choice();
    expect(':');
    const no = choice();
    return (n) => (condition(n) === 0 ? no(n) : yes(n));
  }
  function binary(level: number): Expression {
    const own = operators[level];
    if (!own) return unary();
    let left = binary(level + 1);
    for (;;) {
      const operator = Object.hasOwn(own, tokens[at] ?? '') ? own[tokens[at++]!]! : undefined;
      if (!operator) return left;
      const [a, b] = [left, binary(level + 1)];
      left = (n) => operator(a(n), b(n));
    }
  }
  function unary(): Expression {
    if (take('!')) {
      const of = unary();
      return (n) => Number(of(n) === 0);
    }
    if (take('(')) {
      const inner = choice();
      expect(')');
      return inner;
    }
    const token = tokens[at++];
    if (token === 'n') return (n) => n;
    if (token !== undefined && /^\d+$/.test(token)) return () => Number(token);
    throw new RangeError(`"${token ?? 'its end'}" stands where a number or n should`);
  }

  const whole = choice();
  if (at < tokens.length) throw new RangeError(`"${tokens[at]!}" is left over`);
  return whole;
}
