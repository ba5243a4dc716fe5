import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { readSurfaces } from '../../../src/intake/readSurfaces.ts';
import { corpusFolder } from '../../corpus.ts';
import { auditFindings } from './reportedAnswer.ts';

/** A moderate or severe finding about a point or line of a real or demo file. */
export interface RealFinding {
  readonly file: string;
  /** Which of the file's panels, counted from 1: names in files are not ours to spread. */
  readonly panel: number;
  readonly rule: string;
  readonly severity: string;
  /** Counted from 1, as a person reads. */
  readonly site: string;
  /** mm. */
  readonly value: number;
  readonly seen: number | null;
  readonly leaves: number | null;
  readonly evidence: Readonly<Record<string, number>>;
}

export interface RealFile {
  readonly file: string;
  readonly panels: number;
  readonly findings: readonly RealFinding[];
}

const demoFolder = resolve(import.meta.dirname, '../../../fixtures/demo/job');

function filesIn(folder: string, name: string, ending: RegExp): { file: string; path: string }[] {
  if (!existsSync(folder)) return [];
  return readdirSync(folder)
    .filter((file) => ending.test(file))
    .sort()
    .map((file) => ({ file: `${name}/${file}`, path: join(folder, file) }));
}

/** What the tool says of the corpus (where it is present) and of the demo, as the files are. */
export function realFindings(): RealFile[] {
  const surfaces = /\.(iges|igs|step|stp|net\.json)$/;
  const files = [
    ...(corpusFolder === null
      ? []
      : ['nets', 'surfaces'].flatMap((name) => filesIn(join(corpusFolder!, name), name, surfaces))),
    ...filesIn(demoFolder, 'demo', surfaces),
  ];
  return files.map(({ file, path }) => {
    const { panels } = readSurfaces(path, readFileSync(path));
    const findings = panels.flatMap((panel, k) =>
      auditFindings(panel.net)
        .filter(({ severity }) => severity !== 'slight')
        .map(({ rule, severity, miss, nudge }): RealFinding => ({
          file,
          panel: k + 1,
          rule,
          severity,
          site:
            miss.site.kind === 'point'
              ? `row ${miss.site.row + 1}, column ${miss.site.column + 1}`
              : miss.site.kind === 'row'
                ? `row ${miss.site.row + 1}`
                : miss.site.kind === 'column'
                  ? `column ${miss.site.column + 1}`
                  : miss.site.kind,
          value: miss.value,
          seen: miss.visible?.peak ?? null,
          leaves: nudge?.leaves ?? null,
          evidence: miss.evidence ?? {},
        })),
    );
    return { file, panels: panels.length, findings };
  });
}
