import { bufferSource, headOf, type ByteSource } from './intake/byteSource.ts';
import { fault, type Fault } from './intake/fault.ts';
import { formatByName } from './intake/format.ts';
import { objContents } from './intake/objMesh/objContents.ts';
import { readScan } from './intake/readScan.ts';
import { unreadIntake, readSurfaces } from './intake/readSurfaces.ts';
import { scanFormatByName } from './intake/scanFormat.ts';
import { gatheredMesh, sharedMesh, type Mesh } from './geometry/mesh.ts';
import { scanBody, type ScanBody } from './geometry/scanBody.ts';
import type { Brief } from './rules/brief.ts';
import { judgedFile, judgedScan, type JudgedFile, type ScanBodies } from './verdict/judgedFile.ts';
import { judgedSeams, type JudgedSeams } from './verdict/judgedSeams.ts';

/**
 * A file as the audit gets it: its name for the verdict, and its bytes, or why there are none. A scan may
 * be too large to be held whole: it comes as a source, with the bytes of memory its mesh may take.
 */
export type Source = { readonly name: string } & (
  | { readonly bytes: Uint8Array }
  | { readonly scan: ByteSource; readonly most: number }
  | { readonly fault: Fault }
);

/** Whether a file is a scan by its name, or may be one: those come as sources. */
export const isScan = (name: string): boolean => scanFormatByName(name) !== null;

/** Larger files of surfaces are refused before they are opened: their readers index bytes with 32 bits. */
export const largestBytes = 2 ** 31 - 1;

/** Scans are taken as millimetres. */
const unscaled = { millimetres: 1 };

/**
 * The pipeline for one file: bytes -> panels -> quantities -> judgements -> nudges -> findings. Then
 * auditedJob looks at the panels of all files together, a verdict (verdict/verdict.ts) gathers them, and
 * a writer puts it into words.
 */
export function auditedFile(
  source: Source,
  brief: Brief,
  scans: ScanBodies = new Map(),
): JudgedFile {
  const { name } = source;
  if ('fault' in source) return judgedFile(name, null, unreadIntake(source.fault), brief, scans);
  if ('scan' in source && formatByName(name) !== null && objContents(source.scan).surfaces) {
    const { size } = source.scan;
    if (size > largestBytes)
      return auditedFile(
        { name, fault: fault('file-too-large', {}, { bytes: size, most: largestBytes }) },
        brief,
        scans,
      );
    const bytes = headOf(source.scan, size);
    return judgedFile(name, bytes, readSurfaces(name, bytes), brief, scans);
  }
  if ('scan' in source)
    return judgedScan(
      name,
      source.scan,
      readScan(name, source.scan, { ...unscaled, most: source.most }),
    );
  if (isScan(name))
    return auditedFile({ name, scan: bufferSource(source.bytes), most: Infinity }, brief, scans);
  return judgedFile(name, source.bytes, readSurfaces(name, source.bytes), brief, scans);
}

/**
 * A scan that panels are judged by: what the verdict tells of it, and its mesh, null where there is none.
 * `checksum`: SHA-256 of its bytes, where that is known.
 */
export function auditedScan(
  source: Source,
  brief: Brief,
  checksum: string | null = null,
): { readonly judged: JudgedFile; readonly mesh: Mesh | null } {
  const { name } = source;
  if ('fault' in source) return { judged: auditedFile(source, brief), mesh: null };
  const [bytes, most] =
    'scan' in source ? [source.scan, source.most] : [bufferSource(source.bytes), Infinity];
  const intake = readScan(name, bytes, { ...unscaled, most });
  return { judged: judgedScan(name, bytes, intake, true, checksum), mesh: intake.mesh };
}

/**
 * Meshes as one scan that can be asked, in memory that workers see too (the tree has triangles of its own);
 * null where there is none.
 */
export const readyScan = (meshes: readonly Mesh[]): ScanBody | null =>
  meshes.length === 0 ? null : scanBody(sharedMesh(gatheredMesh(meshes)));

/** The files of a job together: how their panels meet, whichever file each is in. */
export const auditedJob = (files: readonly JudgedFile[], brief: Brief): JudgedSeams =>
  judgedSeams(files, brief);
