declare namespace App {
  interface Locals {
    /** What is drawn: see the renderer's entry. */
    view: import('@stillmark/records').SiteView;
  }
}
