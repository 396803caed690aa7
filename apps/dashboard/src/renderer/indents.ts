/** What is taken as it is: contents in which spaces count, and tags with their attributes. */
const kept = /<(style|script|pre|textarea)\b[\s\S]*?<\/\1>|<[!/a-z](?:"[^"]*"|'[^']*'|[^"'>])*>/gi;

/** A page without what its sources were indented by: a line break with spaces around it is read as one space, and is written as one line break. */
export function withoutIndents(html: string): string {
  let out = '';
  let at = 0;
  for (const match of html.matchAll(kept)) {
    out += html.slice(at, match.index).replaceAll(/[ \t]*\n[ \t\r\n]*/g, '\n') + match[0];
    at = match.index + match[0].length;
  }
  return out + html.slice(at).replaceAll(/[ \t]*\n[ \t\r\n]*/g, '\n');
}
