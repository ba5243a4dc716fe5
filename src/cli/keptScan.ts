import { createHash } from 'node:crypto';
import { closeSync, fstatSync, openSync, readSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import type { ScanBody } from '../geometry/scanBody.ts';
import { scanBodyBytes } from '../geometry/scanBodyBytes.ts';
import { storedScanBody } from '../geometry/storedScanBody.ts';
import { filledBytes, type ByteSource } from '../intake/byteSource.ts';
import type { JudgedFile } from '../verdict/judgedFile.ts';
import { UsageFault } from './usageFault.ts';
import { writtenFile } from './writtenFile.ts';

/** A scan made ready, as it is kept beside its file, with what the verdict tells of it. */
export interface KeptScan {
  /** But for its name. */
  readonly judged: JudgedFile;
  readonly body: ScanBody;
}

/** Scans of fewer bytes are made ready sooner than a file is found. */
export const leastKept = 8e6;

/**
 * Before the body: SHA-256 of the note, its length, and the note, which is JSON. The body's own head has
 * its checksum and the scan's (geometry/scanBodyHead.ts).
 */
const sumLength = 32;
const noteAt = sumLength + 4;
/** No note is longer; what says so is no file of ours. */
const longestNote = 1e7;

/** Where a scan is kept: hidden beside it, so that a folder's audit passes it over. */
const keptPath = (path: string): string => join(dirname(path), `.${basename(path)}.hullsight`);

const sumOf = (bytes: Uint8Array): Buffer => createHash('sha256').update(bytes).digest();

const hexBytes = (hex: string): Uint8Array => Buffer.from(hex, 'hex');

function keptIn(source: ByteSource, checksum: string, tool: string): KeptScan | null {
  const head = new Uint8Array(noteAt);
  if (filledBytes(source, head, 0) < noteAt) return null;
  const length = new DataView(head.buffer).getUint32(sumLength, true);
  if (length > longestNote || noteAt + length > source.size) return null;
  const note = new Uint8Array(length);
  if (filledBytes(source, note, noteAt) < length) return null;
  if (!sumOf(note).equals(head.subarray(0, sumLength))) return null;
  const { tool: by, judged } = JSON.parse(new TextDecoder().decode(note)) as {
    readonly tool: string;
    readonly judged: JudgedFile;
  };
  // another version may read the same scan otherwise
  if (by !== tool) return null;
  const from = noteAt + length;
  const body = storedScanBody(
    { size: source.size - from, read: (into, at) => source.read(into, from + at) },
    hexBytes(checksum),
  );
  return body && { judged, body };
}

/**
 * What is kept of a scan with this checksum by this version of the program; null where there is nothing, or what
 * there is is damaged, of another scan or of another version.
 */
export function keptScan(path: string, checksum: string, tool: string): KeptScan | null {
  let descriptor: number | null = null;
  try {
    descriptor = openSync(keptPath(path), 'r');
    const file = descriptor;
    const { size } = fstatSync(file);
    return keptIn(
      { size, read: (into, at) => readSync(file, into, 0, into.length, at) },
      checksum,
      tool,
    );
  } catch (error) {
    // what the system says of it: then it is made anew
    if (error instanceof Error && 'syscall' in error) return null;
    throw error;
  } finally {
    if (descriptor !== null) closeSync(descriptor);
  }
}

/** Keeps a scan beside its file, at once; where nothing may be written there, nothing is. */
export function keepScan(
  path: string,
  checksum: string,
  tool: string,
  { judged, body }: KeptScan,
): void {
  const note = new TextEncoder().encode(JSON.stringify({ tool, judged }));
  if (note.length > longestNote) return;
  const head = new Uint8Array(noteAt);
  head.set(sumOf(note));
  new DataView(head.buffer).setUint32(sumLength, note.length, true);
  try {
    writtenFile(keptPath(path), [head, note, ...scanBodyBytes(body, hexBytes(checksum))]);
  } catch (error) {
    if (!(error instanceof UsageFault)) throw error;
  }
}
