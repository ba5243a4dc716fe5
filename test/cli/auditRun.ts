import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { PassThrough } from 'node:stream';
import { auditCommand, type AuditArguments } from '../../src/cli/auditCommand.ts';

/** What other programs read of a verdict (design, contract). */
export interface VerdictJson {
  readonly summary: { readonly panels: number; readonly faults: number; readonly outcome: string };
  readonly panels: readonly { readonly name: string; readonly file: string }[];
  readonly findings: readonly {
    readonly rule: string;
    readonly panel: string;
    readonly site: Readonly<Record<string, unknown>>;
  }[];
  readonly faults: readonly {
    readonly file: string;
    readonly code: string;
    readonly text: string;
    readonly line?: number;
    readonly byte?: number;
    readonly record?: string;
  }[];
}

const unasked: Omit<AuditArguments, 'paths'> = {
  format: undefined,
  output: undefined,
  spec: undefined,
  blockAt: undefined,
  only: undefined,
  jobs: 1,
  profiles: undefined,
  scan: [],
  stage: undefined,
  cache: false,
};

/** Runs the audit in this process; gives its exit status and what it printed. */
export async function auditRun(
  paths: readonly string[],
  asked: Partial<AuditArguments> = {},
): Promise<{ readonly status: number; readonly printed: string }> {
  const stream = new PassThrough();
  const chunks: Buffer[] = [];
  stream.on('data', (chunk: Buffer) => chunks.push(chunk));
  const out = stream as unknown as NodeJS.WriteStream;
  const status = await auditCommand(
    { ...unasked, ...asked, paths },
    {
      tool: 'test',
      now: new Date('2026-01-01T00:00:00Z'),
      workerPath: '',
      out,
      err: out,
      environment: {},
    },
  );
  stream.end();
  await new Promise((done) => stream.once('end', done));
  return { status, printed: Buffer.concat(chunks).toString('utf8') };
}

/** The built command. */
export const command: string = resolve(import.meta.dirname, '../../dist/hullsight.cjs');

/** Whether the command has been built, so that a test may start it. */
export const isBuilt = existsSync(command);

/** Starts the built command; `timeout` ends one that hangs, with status null. */
export function started(
  words: readonly string[],
  more: {
    readonly uid?: number;
    readonly env?: NodeJS.ProcessEnv;
    readonly before?: string[];
  } = {},
): { readonly status: number | null; readonly out: string; readonly err: string } {
  const { status, stdout, stderr } = spawnSync(
    process.execPath,
    [...(more.before ?? []), command, ...words],
    {
      encoding: 'utf8',
      timeout: 20_000,
      maxBuffer: 2 ** 28,
      ...(more.uid === undefined ? {} : { uid: more.uid, gid: more.uid }),
      env: { ...process.env, ...more.env },
    },
  );
  return { status, out: stdout, err: stderr };
}

/** A folder of its own for one test, gone when the test is over. */
export async function inFolder<T>(work: (folder: string) => Promise<T> | T): Promise<T> {
  const folder = mkdtempSync(join(tmpdir(), 'hullsight-'));
  try {
    return await work(folder);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
