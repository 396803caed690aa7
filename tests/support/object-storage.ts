import { createHash } from 'node:crypto';
import { mkdtemp, readdir, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join, relative, sep } from 'node:path';
import Storage from '@20minutes/s3rver';
import { PutObjectCommand, S3Client } from '@aws-sdk/client-s3';

/** Object storage on this machine, by s3rver: the protocol with its signatures, written by others. */
export interface TestStorage {
  readonly bucket: string;
  /** What a command needs to find it. */
  readonly env: Readonly<Record<string, string>>;
  /** Every object, by key. */
  objects(): Promise<Map<string, Buffer>>;
  /** Keys that were written, in their order; may be emptied. */
  readonly written: string[];
  /** Is asked before each writing; false lets it fail. */
  allows: (key: string) => boolean | Promise<boolean>;
  /** Keys that a listing leaves out, though they are there. */
  hides: (key: string) => boolean;
  /** Keys of which the writing is done, and the answer lost. */
  loses: (key: string) => boolean;
  /** Takes an object away. */
  remove(key: string): Promise<void>;
  /** Writes an object as anybody could. */
  put(key: string, text: string): Promise<unknown>;
  close(): Promise<void>;
}

/**
 * @param heeds whether writing is bound to `If-Match` and `If-None-Match`. s3rver does not know them for writing; what is added here is
 * from the manual of the protocol (Amazon S3 User Guide, "How to prevent object overwrites with conditional writes"): 412 where another object
 * stands there, 404 where none does.
 */
export async function testStorage(heeds = { match: true, none: true }): Promise<TestStorage> {
  const folder = await mkdtemp(join(tmpdir(), 'stillmark-objects-'));
  const bucket = 'works';
  const server = new Storage({
    address: '127.0.0.1',
    port: 0,
    silent: true,
    directory: folder,
    configureBuckets: [{ name: bucket, configs: [] }],
  });
  const suffix = '._S3rver_object';
  const objectAt = (key: string): Promise<Buffer | undefined> =>
    readFile(join(folder, bucket, key + suffix)).catch(() => undefined);
  const storage: Pick<TestStorage, 'written' | 'allows' | 'hides' | 'loses'> = {
    written: [],
    allows: () => true,
    hides: () => false,
    loses: () => false,
  };

  let last: Promise<unknown> = Promise.resolve();
  server.middleware.unshift(async (context, next) => {
    // One request after the other: s3rver writes into its files in place, and an object is there whole or not at all.
    const before = last;
    last = new Promise((done) => context.res.on('close', done));
    await before;
    const key = decodeURIComponent(context.path).replace(`/${bucket}/`, '');
    if (context.method === 'PUT') {
      if (!(await storage.allows(key))) {
        context.res.destroy();
        return;
      }
      const stands = await objectAt(key);
      const { 'if-match': match, 'if-none-match': none } = context.headers;
      const etag = stands && `"${createHash('md5').update(stands).digest('hex')}"`;
      if (heeds.match && match !== undefined && match !== etag) {
        context.status = stands ? 412 : 404;
        const code = stands ? 'PreconditionFailed' : 'NoSuchKey';
        context.body = `<?xml version="1.0" encoding="UTF-8"?><Error><Code>${code}</Code></Error>`;
        return;
      }
      if (heeds.none && none === '*' && stands) {
        context.status = 412;
        context.body = '<?xml version="1.0" encoding="UTF-8"?><Error><Code>PreconditionFailed</Code></Error>';
        return;
      }
      storage.written.push(key);
    }
    await next();
    if (context.method === 'PUT' && storage.loses(key)) context.res.destroy();
    if ('list-type' in context.query && typeof context.body === 'string')
      context.body = context.body.replace(/<Contents>.*?<\/Contents>/gs, (found) =>
        storage.hides(/<Key>(.*?)<\/Key>/.exec(found)![1]!) ? '' : found,
      );
  });
  server.middleware.splice(-1, 0, async (context, next) => {
    // Where signatures are checked, s3rver takes away the slash at the end of an address of a bucket, which the client has signed.
    if (context.path.endsWith('/')) {
      context.state['vhost'] = true;
      context.mountPath = '/';
    }
    await next();
  });
  const { port } = await server.run();

  return Object.assign(storage, {
    bucket,
    env: {
      AWS_ENDPOINT_URL_S3: `http://127.0.0.1:${port}`,
      AWS_ACCESS_KEY_ID: 'S3RVER',
      AWS_SECRET_ACCESS_KEY: 'S3RVER',
      // Nothing of the person who runs the tests.
      AWS_CONFIG_FILE: join(folder, 'none'),
      AWS_SHARED_CREDENTIALS_FILE: join(folder, 'none'),
      AWS_EC2_METADATA_DISABLED: 'true',
    },
    put: (key: string, text: string) =>
      new S3Client({
        endpoint: `http://127.0.0.1:${port}`,
        region: 'us-east-1',
        forcePathStyle: true,
        credentials: { accessKeyId: 'S3RVER', secretAccessKey: 'S3RVER' },
      }).send(new PutObjectCommand({ Bucket: bucket, Key: key, Body: text })),
    remove: (key: string) => rm(join(folder, bucket, key + suffix)),
    async objects() {
      const found = new Map<string, Buffer>();
      for (const entry of await readdir(join(folder, bucket), { recursive: true, withFileTypes: true })) {
        if (!entry.name.endsWith(suffix)) continue;
        const path = join(entry.parentPath, entry.name);
        const key = relative(join(folder, bucket), path).split(sep).join('/').slice(0, -suffix.length);
        found.set(key, await readFile(path));
      }
      return found;
    },
    async close() {
      await new Promise((done) => server.httpServer.close(done));
      await rm(folder, { recursive: true, force: true });
    },
  });
}
