/** Made when the renderer is built; see `plugin.ts`. */
declare module 'virtual:site-messages' {
  import type { SiteMessage } from '@stillmark/records';

  const messages: readonly SiteMessage[];
  export default messages;
}

declare module 'virtual:browser-keys' {
  const keys: readonly string[];
  export default keys;
}
