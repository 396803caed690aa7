/** A message of the site, as it stands in a file of translations. */
export interface SiteMessage {
  /** English, with `{0}` where something is filled in and `<1>…</1>` around an element. */
  readonly id: string;
  /** English for other numbers than one, where the message counts. */
  readonly plural?: string;
  /** Tells apart what is the same in English and not elsewhere. */
  readonly context?: string;
  /** What is filled in, place by place, as the source calls it. */
  readonly places: readonly string[];
  /** Sources that say it. */
  readonly where: readonly string[];
}
