import { localDigits } from '@stillmark/words';
/** An attribute left undefined is not written. */
export type Attributes = Readonly<Record<string, string | number | undefined>>;

/**
 * An SVG element as text. Attribute values are escaped; children are markup already, made by {@link el} or {@link escape}.
 * No `style` attributes: the pages' content security policy refuses them.
 */
export function el(name: string, attributes: Attributes, ...children: readonly string[]): string {
  let out = `<${name}`;
  for (const [key, value] of Object.entries(attributes)) {
    if (value === undefined) continue;
    out += ` ${key}="${typeof value === 'number' ? round(value) : escape(value)}"`;
  }
  return children.length === 0 ? `${out}/>` : `${out}>${children.join('')}</${name}>`;
}

export function escape(text: string): string {
  return text.replace(/[&<>"']/g, (c) => `&#${c.charCodeAt(0)};`);
}

/** A text element; `content` is escaped. */
export function label(x: number, y: number, content: string, attributes: Attributes = {}): string {
  return el('text', { x, y, ...attributes }, escape(content));
}

/** Two decimals: a hundredth of a pixel is below anything that can be seen. */
export function round(value: number, decimals = 2): string {
  const factor = 10 ** decimals;
  return String(Math.round(value * factor) / factor + 0);
}

export interface FigureHead {
  readonly id: string;
  readonly width: number;
  readonly height: number;
  readonly title: string;
  readonly description: string;
  /** What a script needs to know of the drawing, as data attributes. */
  readonly data?: Readonly<Record<string, number>>;
}

/** A whole figure, described for those who do not see it. */
export function figure(
  { id, width, height, title, description, data = {} }: FigureHead,
  ...children: readonly string[]
): string {
  return el(
    'svg',
    {
      viewBox: `0 0 ${width} ${height}`,
      width,
      height,
      // A drawing with links in it is a group of them; one without is a picture.
      role: children.some((child) => child.includes('<a ')) ? 'group' : 'img',
      'aria-labelledby': `${id}-title ${id}-desc`,
      class: 'chart',
      ...Object.fromEntries(
        Object.entries(data).map(([name, value]) => [`data-${name}`, String(Number(value.toPrecision(12)))]),
      ),
    },
    el('title', { id: `${id}-title` }, escape(title)),
    el('desc', { id: `${id}-desc` }, escape(description)),
    ...children,
  );
}

/** Width of a line of text in the figures' face, by the size of its letters; for placing, not for measuring. */
export function textWidth(content: string, size: number): number {
  let em = 0;
  for (const c of content)
    em += /[mwMW%±]/.test(c) ? 0.82 : /[A-Z°]/.test(c) ? 0.6 : /[ijlt.,:;|'\u202f ]/.test(c) ? 0.28 : 0.5;
  return em * size;
}

/** The least of 1, 2, 5 times a power of ten that is not below a value. */
export function roundAbove(value: number): number {
  const power = 10 ** Math.floor(Math.log10(value));
  return ([1, 2, 5].find((s) => s * power >= value) ?? 10) * power;
}

/** A number on an axis, with a true minus sign. */
export function tickText(value: number): string {
  return localDigits(value < 0 ? `\u2212${Math.abs(value)}` : String(value));
}
