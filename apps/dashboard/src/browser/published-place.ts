/** Name of the folder of a published snapshot. */
const versionName = /^\d{8}T\d{6}Z-[0-9a-f]{12}$/;

/** Where a snapshot stands among those that are published with it. */
export interface PublishedPlace {
  /** True where it was reached as a version of its own, false where as the latest. */
  readonly isVersion: boolean;
  /** Addresses of the folders of all versions and of the latest. */
  readonly versions: string;
  readonly latest: string;
}

/** Reads from the address of a site's top folder whether it stands where `publish` puts snapshots; undefined where it cannot. */
export function placeOf(top: string): PublishedPlace | undefined {
  const { pathname } = new URL(top);
  const [folder, parent] = pathname.split('/').slice(-3, -1).reverse();
  const isVersion = parent === 'versions' && versionName.test(folder ?? '');
  if (!isVersion && folder !== 'latest') return undefined;
  const home = new URL(isVersion ? '../../' : '../', top);
  return {
    isVersion,
    versions: new URL('versions/', home).href,
    latest: new URL('latest/', home).href,
  };
}
