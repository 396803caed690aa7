import type { Readable } from 'node:stream';
import type { PutObjectCommandInput, S3Client } from '@aws-sdk/client-s3';
import { fail } from '@stillmark/problems';

/** One object, as a listing tells it. */
export interface StoredObject {
  /** Path behind the address, with forward slashes. */
  readonly path: string;
  /** Another one says that the object has changed. */
  readonly etag: string;
}

/** Objects behind an address such as `s3://bucket/dam/store`. */
export interface ObjectStorage {
  readonly address: string;
  /** Where the storage is asked for; empty where that follows from the address. */
  readonly endpoint: string;
  /** All objects, in the order of their paths' bytes. */
  list(): Promise<StoredObject[]>;
  /** Whether an object is there, whatever a listing said. */
  has(path: string): Promise<boolean>;
  /** The bytes of an object as it was listed; undefined where it has changed since, or is gone. */
  read(object: StoredObject): Promise<AsyncIterable<Uint8Array> | undefined>;
  /**
   * Writes an object where what stands there is what is known to stand there: `etag`, or nothing. Answers the new etag, or undefined
   * where something else stands there. Storage that takes no heed of conditions writes in any case.
   */
  write(path: string, bytes: Uint8Array, etag: string | undefined): Promise<string | undefined>;
}

const addressForm =
  /^s3:\/\/(?<bucket>[a-z0-9][a-z0-9.-]{1,61}[a-z0-9])(?<prefix>(?:\/[\w.!*'()=+@-]+)*)\/?$/;

/** The parts of an address; undefined where it is none, or has a step upwards in it. */
export function parseAddress(
  text: string,
): { readonly address: string; readonly bucket: string; readonly prefix: string } | undefined {
  const { bucket, prefix } = addressForm.exec(text)?.groups ?? {};
  if (bucket === undefined || prefix === undefined || /\/\.{1,2}(?:\/|$)/.test(prefix)) return undefined;
  return { address: `s3://${bucket}${prefix}`, bucket, prefix: prefix === '' ? '' : `${prefix.slice(1)}/` };
}

/** So long a connection may take to stand, and then to stay silent, in milliseconds; common practice, no source. */
const connectionMs = 10_000;
const silenceMs = 60_000;

/**
 * Object storage by the protocol of Amazon S3, which other storage speaks too. Credentials, region and endpoint are those that the tools of
 * the storage take: from the environment (`AWS_ENDPOINT_URL_S3` and so on), from profiles, or from the machine.
 *
 * @param address by {@link parseAddress}
 * @throws STORE_REMOTE, by every method, where the storage cannot be reached or refuses
 */
export async function openObjectStorage(address: string): Promise<ObjectStorage> {
  const { bucket, prefix } = parseAddress(address)!;
  // Loaded when it is asked for first: most stores stand on a disk.
  const { GetObjectCommand, HeadObjectCommand, ListObjectsV2Command, PutObjectCommand, S3Client } =
    await import('@aws-sdk/client-s3');
  const client = await connect(S3Client);
  const at = { Bucket: bucket };

  return {
    address,
    endpoint: endpointOf(),
    async list() {
      const found: StoredObject[] = [];
      let after: string | undefined;
      do {
        const page = await told(address, () =>
          client.send(
            new ListObjectsV2Command({
              ...at,
              Prefix: prefix,
              ...(after ? { ContinuationToken: after } : {}),
            }),
          ),
        );
        for (const { Key, ETag } of page.Contents ?? [])
          if (Key !== undefined && ETag !== undefined)
            found.push({ path: Key.slice(prefix.length), etag: bare(ETag) });
        const before = after;
        after = page.IsTruncated ? page.NextContinuationToken : undefined;
        // A listing that is not whole would look as if objects had been taken away.
        if (page.IsTruncated && (after === undefined || after === before))
          refuse(address, new Error('the listing of the storage ends before its end'));
      } while (after !== undefined);
      return found;
    },
    has: (path) =>
      told(address, async () => {
        try {
          await client.send(new HeadObjectCommand({ ...at, Key: prefix + path }));
          return true;
        } catch (error) {
          if (statusOf(error) === 404) return false;
          throw error;
        }
      }),
    read: ({ path, etag }) =>
      told(address, async () => {
        try {
          const { Body, ETag } = await client.send(
            new GetObjectCommand({ ...at, Key: prefix + path, IfMatch: `"${etag}"` }),
          );
          if (ETag !== undefined && bare(ETag) === etag)
            return heard(address, Body as AsyncIterable<Uint8Array>);
          // What is not read holds its connection.
          (Body as Readable | undefined)?.destroy();
          return undefined;
        } catch (error) {
          if (isOther(error)) return undefined;
          throw error;
        }
      }),
    write: (path, bytes, etag) =>
      told(address, async () => {
        const condition: Partial<PutObjectCommandInput> =
          etag === undefined ? { IfNoneMatch: '*' } : { IfMatch: `"${etag}"` };
        try {
          const { ETag } = await client.send(
            new PutObjectCommand({ ...at, Key: prefix + path, Body: bytes, ...condition }),
          );
          if (ETag === undefined)
            throw new Error('the storage does not tell the ETag of what it has written');
          return bare(ETag);
        } catch (error) {
          if (isOther(error)) return undefined;
          throw error;
        }
      }),
  };
}

/** Listings and answers of some storage differ in the quotes around it. */
function bare(etag: string): string {
  return etag.replaceAll('"', '');
}

const endpointOf = (): string => process.env['AWS_ENDPOINT_URL_S3'] ?? process.env['AWS_ENDPOINT_URL'] ?? '';

async function connect(Client: typeof S3Client): Promise<S3Client> {
  const options = {
    requestHandler: { connectionTimeout: connectionMs, socketTimeout: silenceMs },
    // The signature holds a hash of what is sent; checksums beyond it are not known to all storage.
    requestChecksumCalculation: 'WHEN_REQUIRED',
    responseChecksumValidation: 'WHEN_REQUIRED',
    // Behind an endpoint of one's own, buckets seldom have names of hosts.
    ...(endpointOf() === '' ? {} : { forcePathStyle: true }),
  } as const;
  const client = new Client(options);
  try {
    await client.config.region();
    return client;
  } catch {
    // Named nowhere. Storage of one's own has none, and takes this one.
    return new Client({ ...options, region: process.env['AWS_DEFAULT_REGION'] ?? 'us-east-1' });
  }
}

/** True of an answer that says that another object stands there, or none, or that one is just being written. */
function isOther(error: unknown): boolean {
  const status = statusOf(error);
  return status === 412 || status === 409 || (error as { name?: string }).name === 'NoSuchKey';
}

function statusOf(error: unknown): number | undefined {
  return (error as { $metadata?: { httpStatusCode?: number } }).$metadata?.httpStatusCode;
}

/** What comes over the line, with its end told where it breaks. */
async function* heard(address: string, bytes: AsyncIterable<Uint8Array>): AsyncIterable<Uint8Array> {
  try {
    yield* bytes;
  } catch (error) {
    refuse(address, error);
  }
}

async function told<T>(address: string, work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } catch (error) {
    return refuse(address, error);
  }
}

function refuse(address: string, error: unknown): never {
  const { name, message, code } = error as { name?: string; message?: string; code?: string };
  // A host with several addresses that all refuse is told by a code alone.
  const said = message ? message.split('\n')[0]! : (code ?? String(error));
  return fail(
    'STORE_REMOTE',
    `the store in object storage cannot be used: ${said}${name && name !== 'Error' ? ` (${name})` : ''}`,
    {
      at: { file: address },
      hint: 'a bucket that is there; credentials that may list, read and write in it, and AWS_ENDPOINT_URL_S3 where the storage has an address of its own (docs/store.md)',
    },
  );
}
