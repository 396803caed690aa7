import type { SiteView } from '@stillmark/records';

declare global {
  namespace App {
    interface Locals {
      /** What is drawn: see the renderer's entry. */
      view: SiteView;
    }
  }
}
