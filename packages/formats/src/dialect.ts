import { parseInstant, type InstantResult, type TimeScale } from '@stillmark/records';
import { numberIn } from './csv.ts';

/** How a CSV file writes fields, numbers and times. */
export interface Dialect {
  readonly delimiter: string;
  readonly decimal: '.' | ',';
  /** Form of times with YYYY, MM, DD, HH, mm and perhaps ss; ISO 8601 where it is absent. */
  readonly time?: string | undefined;
  /** Of times without a zone: `Z` or `+01:00`. */
  readonly utcOffset?: string | undefined;
}

/** Comma, decimal point, ISO 8601 with zone. */
export const usualDialect: Dialect = { delimiter: ',', decimal: '.' };

/** Numbers and times as a file writes them. */
export class DialectReader {
  readonly #comma: boolean;
  readonly #form: RegExp | undefined;
  readonly #offset: string;
  /** What a number and a time should look like, for messages. */
  readonly hints: { readonly number: string; readonly time: string; readonly otherTime: string };

  constructor({ decimal, time, utcOffset }: Dialect, scale: TimeScale) {
    this.#comma = decimal === ',';
    this.#form = time === undefined ? undefined : formOf(time);
    this.#offset = scale === 'GPS' ? '' : (utcOffset ?? '');
    const form = time ?? (scale === 'UTC' ? '2026-03-01T06:00:00Z' : '2026-03-01T06:00:18');
    this.hints = {
      number: this.#comma
        ? 'a number with a decimal comma'
        : "a number with a decimal point; of a comma `dialect: { decimal: ',' }`",
      time: form,
      otherTime:
        time === undefined
          ? `${form}; other forms, and times without a zone, by \`dialect\` (time, utcOffset)`
          : form,
    };
  }

  /** Undefined where the field is no number; signs between thousands are none. */
  number(field: string): number | undefined {
    if (!this.#comma) return numberIn(field);
    return field.includes('.') ? undefined : numberIn(field.replace(',', '.'));
  }

  time(field: string, scale: TimeScale): InstantResult {
    if (!this.#form) {
      const zoned = scale === 'GPS' || /(?:Z|[+-]\d{2}:?\d{2})$/.test(field);
      return parseInstant(zoned ? field : field + this.#offset, scale);
    }
    const parts = this.#form.exec(field)?.groups;
    if (!parts) return { ok: false, reason: `'${field}' is not a time of the form ${this.hints.time}` };
    const two = (part: string | undefined): string => (part ?? '00').padStart(2, '0');
    const second = `${two(parts['ss'])}${parts['fraction'] ?? ''}`;
    const day = `${parts['YYYY']}-${two(parts['MM'])}-${two(parts['DD'])}`;
    const found = parseInstant(
      `${day}T${two(parts['HH'])}:${two(parts['mm'])}:${second}${this.#offset}`,
      scale,
    );
    return found.ok ? found : { ok: false, reason: `'${field}' is not a date and time of the calendar` };
  }
}

/** One or two digits for all but the year; a fraction of the second where there are seconds. */
function formOf(time: string): RegExp {
  const escaped = time.replace(/[.*+?^${}()|[\]\\/-]/g, String.raw`\$&`);
  const pattern = escaped.replace(/YYYY|MM|DD|HH|mm|ss/g, (token) => {
    if (token === 'YYYY') return String.raw`(?<YYYY>\d{4})`;
    const digits = String.raw`(?<${token}>\d{1,2})`;
    return token === 'ss' ? digits + String.raw`(?<fraction>\.\d{1,9})?` : digits;
  });
  return new RegExp(`^${pattern}$`);
}
