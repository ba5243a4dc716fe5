import type { ControlNet } from '../../geometry/controlNet.ts';
import { inPlace, placedNet, placementScale } from '../../geometry/placement.ts';
import { checkedNet, isFault } from '../checkedNet.ts';
import type { Notice } from '../fault.ts';
import type { Panel, Trim } from '../panel.ts';
import { scaledTrim } from '../scaledTrim.ts';
import { edgeUses } from './edgeUses.ts';
import type { StepFile } from './stepFile.ts';
import type { Owner } from './stepHoldings.ts';
import type { Instance } from './stepInstances.ts';
import type { StepSurface } from './stepSurfaces.ts';
import { stepTrim, type ToldTrim } from './stepTrims.ts';

/** An owner and what it is cut from, as far as that is trimmed itself, outermost first. */
function chainOf(all: ReadonlyMap<number, Owner>, record: number): readonly Owner[] {
  const chain: Owner[] = [];
  for (let owner = all.get(record); owner; owner = all.get(owner.surface)) chain.push(owner);
  return chain;
}

/**
 * Of the records that hold a surface in one place, those that stand for different parts of it, each as
 * its chain of owners; the chain of the bare surface is empty. What another one is cut from is left out,
 * and of faces with the same edges all but the first.
 */
function distinctHolders(
  file: StepFile,
  all: ReadonlyMap<number, Owner>,
  holders: ReadonlySet<number>,
): readonly (readonly Owner[])[] {
  const chains = [...holders].toSorted((a, b) => a - b).map((record) => chainOf(all, record));
  if (chains.length === 1) return chains;
  const inner = new Set(chains.flatMap((chain) => chain.map(({ surface }) => surface)));
  const outer = chains.filter(([owner]) => owner && !inner.has(owner.record));
  const seen = new Set<string>();
  return outer.filter(([owner]) => {
    const uses = edgeUses(file, owner);
    if (seen.has(uses)) return false;
    seen.add(uses);
    return true;
  });
}

const wholeTrim: Trim = { kind: 'whole' };

/** The panels of one surface: at each place one for each part of it that is kept there. */
export class SurfacePanels {
  private readonly trims = new Map<string, ToldTrim>();

  constructor(
    readonly file: StepFile,
    readonly all: ReadonlyMap<number, Owner>,
    readonly record: number,
    readonly surface: StepSurface,
    /** Names of layers by the record of what they hold. */
    readonly layers: ReadonlyMap<number, ReadonlySet<string>>,
    /** Where what is to be told of trims goes. */
    readonly notices: Notice[],
  ) {}

  /** The panels at one place; null where the net is not sound, which is told. */
  at(instance: Instance): readonly Panel[] | null {
    const { file, all, surface } = this;
    const place = file.place(this.record);
    const { unit, placement } = instance;
    const { raw } = surface;
    const inMillimetres = { ...raw, points: raw.points.map((value) => value * unit.millimetres) };
    const moved = placement === inPlace ? inMillimetres : placedNet(inMillimetres, placement);
    const net = checkedNet(moved, place);
    if (isFault(net)) {
      file.tell(net.code, net.place, net.data);
      return null;
    }
    return distinctHolders(file, all, instance.holders).map((chain): Panel => {
      const trim = chain.length === 0 ? wholeTrim : this.trim(chain[0], inMillimetres, instance);
      const name = chain.find((owner) => owner.name !== '')?.name || surface.name;
      const called = name || instance.product || `surface-${place.record}`;
      const groups = this.groups(chain);
      return { name: called, place, unit, net, trim, ...(groups.length > 0 ? { groups } : {}) };
    });
  }

  /** Names of the layers of a chain of owners, or of the surface below it. */
  private groups(chain: readonly Owner[]): readonly string[] {
    if (this.layers.size === 0) return [];
    const records = [...chain.map(({ record }) => record), this.record];
    const names = new Set(records.flatMap((record) => [...(this.layers.get(record) ?? [])]));
    return [...names].sort();
  }

  /** A trim holds in every place; only its tolerance is scaled as the place scales it. */
  private trim(owner: Owner, net: ControlNet, instance: Instance): Trim {
    const { millimetres } = instance.unit;
    const key = `${owner.record} ${millimetres} ${instance.radians} ${instance.uncertainty}`;
    let told = this.trims.get(key);
    if (!told) {
      told = stepTrim(this.file, this.all, owner, net, instance);
      this.trims.set(key, told);
      if (told.notice) this.notices.push(told.notice);
    }
    return scaledTrim(told.trim, placementScale(instance.placement));
  }
}
