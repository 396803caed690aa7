import type { PortfolioRecord, PublishedVersions, ReleasedView, SiteView } from '@stillmark/records';

declare global {
  namespace App {
    interface Locals {
      /** What is drawn: see the renderer's entry. */
      view: SiteView;
      /** Of the released site alone: what was approved, and how it stands to what is known. */
      released?: ReleasedView;
      /** Of the page over several projects alone. */
      portfolio?: PortfolioRecord;
      /** What the page of published versions tells; absent on the pages of a snapshot. */
      published?: PublishedVersions;
    }
  }
}
