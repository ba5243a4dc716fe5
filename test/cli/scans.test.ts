import { createHash } from 'node:crypto';
import { copyFileSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { expect, test } from 'vitest';
import { clay } from '../../fixtures/clay.ts';
import { binaryStl, textPly } from '../../fixtures/meshFiles.ts';
import type { Source } from '../../src/audit.ts';
import { openedFile } from '../../src/cli/openedFile.ts';
import { auditRun, inFolder } from './auditRun.ts';

const panel = resolve(import.meta.dirname, '../../fixtures/rules/surplus-build/met.net.json');
const body = clay(10);

test('a folder with a panel and scans: the panel is judged, the scans are listed', async () => {
  await inFolder(async (folder) => {
    copyFileSync(panel, join(folder, 'hood.net.json'));
    const files = { 'clay.stl': binaryStl(body), 'clay.PLY': textPly(body) };
    for (const [name, bytes] of Object.entries(files)) writeFileSync(join(folder, name), bytes);
    const { status, printed } = await auditRun([folder], { format: 'json' });
    const verdict = JSON.parse(printed) as { files: { file: string; sha256: string }[] };
    expect(verdict).toMatchObject({ summary: { files: 3, scans: 2, panels: 1, outcome: 'met' } });
    const scan = { vertices: body.vertices.length / 3, triangles: body.triangles.length / 3 };
    expect(verdict.files).toMatchObject([
      { file: 'clay.PLY', format: 'ply', panels: 0, scan },
      { file: 'clay.stl', format: 'stl', panels: 0, scan },
      { file: 'hood.net.json', format: 'net-json', panels: 1 },
    ]);
    expect(verdict.files[1].sha256).toBe(
      createHash('sha256').update(files['clay.stl']).digest('hex'),
    );
    expect(status).toBe(0);
    const { printed: text } = await auditRun([folder]);
    expect(text.replace(/\s+/g, ' ')).toMatch(
      /clay\.stl: scan, 360 triangles, \d+\.\d\d mm across, .* 1 panel in 1 file and 2 scans: within limits\./,
    );
  });
});

test('a disk that fails while a scan is read is a fault; a defect of ours is none', async () => {
  await inFolder((folder) => {
    const path = join(folder, 'clay.stl');
    writeFileSync(path, binaryStl(body));
    const given = (error: Error): Source[] => {
      const sources: Source[] = [];
      openedFile({ path, name: 'clay.stl', fault: null }, 1e9, (source) => {
        sources.push(source);
        if ('scan' in source) throw error;
      });
      return sources;
    };
    const failed = Object.assign(new Error('EIO'), { code: 'EIO', syscall: 'read' });
    expect(given(failed)).toMatchObject([
      { name: 'clay.stl' },
      { fault: { code: 'file-unreadable', data: { system: 'EIO' } } },
    ]);
    expect(() => given(new TypeError('ours'))).toThrow('ours');
  });
});
