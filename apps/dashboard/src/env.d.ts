import type { PublishedVersions, SiteView } from '@stillmark/records';

declare global {
  namespace App {
    interface Locals {
      /** What is drawn: see the renderer's entry. */
      view: SiteView;
      /** What the page of published versions tells; absent on the pages of a snapshot. */
      published?: PublishedVersions;
    }
  }
}
