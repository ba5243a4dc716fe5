import { auditedFile } from '../audit.ts';
import { briefOf, type Brief, type Order } from '../rules/brief.ts';
import type { JudgedFile, ScanBodies } from '../verdict/judgedFile.ts';
import type { ListedFile } from './listedFiles.ts';
import { openedFile } from './openedFile.ts';

/** One file and the order to judge it by, as it is handed to a worker. */
export interface Job {
  readonly file: ListedFile;
  readonly order: Order;
  /** Bytes of memory that the mesh of a scan may take. */
  readonly most: number;
  /** What panels are judged by; shared memory. */
  readonly scans: ScanBodies;
}

let last: { readonly key: string; readonly brief: Brief } | null = null;

/** Opens and judges one file. The brief is kept while the order stays the same. */
export default function judgedJob({ file, order, most, scans }: Job): JudgedFile {
  const key = JSON.stringify(order);
  if (last?.key !== key) last = { key, brief: briefOf(order) };
  const { brief } = last;
  return openedFile(file, most, (source) => auditedFile(source, brief, scans));
}
