export { axisNames } from './axes.ts';
export {
  idOf,
  inContext,
  inWords,
  keyOf,
  language,
  localDigits,
  msg,
  plural,
  speak,
  spokenPart,
  t,
  translationOf,
  translated,
  trimmed,
  type Message,
  type Widened,
  type Words,
} from './catalogue.ts';
export { faultOf, piecesOf, type Piece } from './markup.ts';
export { readPluralForms, type PluralForms } from './plural-forms.ts';
