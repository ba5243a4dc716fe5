import type { Panel } from './panel.ts';

/** The panels with every name used once: a second "hood" becomes "hood~2". */
export function uniquelyNamed(panels: readonly Panel[]): Panel[] {
  const taken = new Set<string>();
  const next = new Map<string, number>();
  return panels.map((panel) => {
    let name = panel.name;
    for (let k = next.get(panel.name) ?? 2; taken.has(name); k++) {
      name = `${panel.name}~${k}`;
      next.set(panel.name, k + 1);
    }
    taken.add(name);
    return name === panel.name ? panel : { ...panel, name };
  });
}
