import type { SiteView } from '@stillmark/records';
import { ZoneClock } from '@stillmark/wording';
import { t } from '@stillmark/words';

/** Style of the foot of printed pages: which project, as of when. A page's own text cannot be put there otherwise. */
export function footStyle({ snapshot: { project, asOf } }: SiteView): string {
  const text = t`${project.title}, as of ${new ZoneClock(project.timeZone).dateTime(Date.parse(asOf))}`;
  return `@media print{@page{@bottom-left{content:"${cssText(text)}";font:9pt sans-serif}}}`;
}

/** Text within a CSS string: everything but letters, figures and spaces is told by its number. */
function cssText(text: string): string {
  return text.replaceAll(/[^A-Za-z0-9 ,.:]/gu, (c) => `\\${c.codePointAt(0)!.toString(16)} `);
}
