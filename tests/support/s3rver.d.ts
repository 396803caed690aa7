/** As far as tests use it: the package carries no types. */
declare module '@20minutes/s3rver' {
  import type { IncomingHttpHeaders, ServerResponse } from 'node:http';
  import type { AddressInfo, Server } from 'node:net';

  interface Context {
    readonly method: string;
    readonly path: string;
    readonly query: Readonly<Record<string, string>>;
    readonly headers: IncomingHttpHeaders;
    readonly res: ServerResponse;
    readonly state: Record<string, unknown>;
    mountPath: string | undefined;
    status: number;
    body: unknown;
  }

  export default class S3rver {
    constructor(options: {
      readonly address: string;
      readonly port: number;
      readonly silent: boolean;
      readonly directory: string;
      readonly configureBuckets: readonly { readonly name: string; readonly configs: readonly string[] }[];
    });
    /** Of Koa. */
    readonly middleware: ((context: Context, next: () => Promise<void>) => Promise<void>)[];
    readonly httpServer: Server;
    run(): Promise<AddressInfo>;
  }
}
