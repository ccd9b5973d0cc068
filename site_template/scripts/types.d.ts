/** What data/map.js hands over. */
export interface MapData extends Lists {
  colourings?: Record<string, number[]>;
  trees: Columns;
  units?: Units;
}

/** Whole numbers, column by column: names with bytes a number, then all of them as base64. */
export interface Packed {
  rows: number;
  columns: [string, 1 | 2 | 4][];
  data: string;
}

/** What data/map-N.js hands over: cells in a row, and the trees in each, one after the other. */
export interface Block {
  cells: Packed;
  trees: Packed;
}

/** What data/map.js hands over of a large survey, whose trees come in blocks. */
export interface Header extends Lists {
  colourings?: Record<string, number[]>;
  units?: Units;
  count: number;
  /** Trees a block, and a workings file. */
  block: number;
  chunk: number;
  /** The blocks that hold each stand's trees. */
  stand_blocks: number[][];
  /** The numbers of trees that the margins name. */
  noted: Record<string, number>;
}

/** What data/details-N.js hands over. */
export interface Details {
  id: string[];
  /** The different texts of each column; the packed columns say which. */
  words: Record<"date" | "age" | "growth" | "age_ends" | "age_start", string[]>;
  numbers: Packed;
}

/** Columns of equal length, null or NaN where nothing was measured. */
export interface Columns {
  id: string[];
  lat: (number | null)[];
  lon: (number | null)[];
  /** The true place lies this close, 19 times in 20; empty where no tree's accuracy is known. */
  position_accuracy_m: (number | null)[];
  diameter_cm: (number | null)[] | Float64Array;
  height_m: (number | null)[] | Float64Array;
  girth_cm: (number | null)[];
  diameter_sd_cm: (number | null)[];
  height_sd_m: (number | null)[];
  /** Indexes into the lists, -1 for none. */
  species: ArrayLike<number>;
  stand: ArrayLike<number>;
  size: ArrayLike<number>;
  /** 0 broadleaf, 1 conifer, 2 dead, 3 unknown */
  symbol: ArrayLike<number>;
  /** In words, "" for none: a range of years, and the growth of the girth. */
  age: string[];
  growth: string[];
  age_ends: ([number, number] | null)[];
  /** What the age counts from; -1 for a rule of thumb, whose range has no measured width. */
  age_start: number[];
  date: (string | null)[];
  findings: (number | null)[];
  /** The page of each tree, or none at all in a large survey. */
  page: string[];
  /** The number of the workings file that holds the tree. */
  chunk: ArrayLike<number>;
}

export interface Lists {
  species: { name: string; common: string; colour: number }[];
  stands: { name: string; href: string }[];
  sizes: { name: string; range: string }[];
}

/** One step of a tree's working, as data/workings-N.js carries it. */
export interface Step {
  title: string;
  inputs: string;
  formula: string;
  result: string;
  method: string;
  note: string;
  /** An SVG of its own, made by the build. */
  drawing?: string;
}

/** One photo, as data/workings-N.js carries it: the widest size first. */
export interface Picture {
  sizes: [string, number, number][];
  alt: string;
  caption: string;
}

export type Labels = typeof import("./labels.json");
export type Units = "metric" | "us";

export interface Filter {
  search: string;
  /** -1: any */
  species: number;
  stand: number;
  size: number;
  /** Species chosen in the legend; empty: all. */
  only: Set<number>;
  /** Sizes chosen by the bars of the charts. */
  ranges: Partial<Record<keyof Sizes, Range>>;
}

/** From, up to but not including, and the decimals that a size is rounded to before. */
export type Range = [number, number, number];

export interface Sizes {
  diameter_cm?: number | null;
  height_m?: number | null;
}

export interface Mark {
  tree: string;
  letter: string;
}

export interface LayerOptions {
  /** The name of the one stand to draw, "" for every tree. */
  stand?: string;
  marks?: Mark[];
  /** false leaves the view as the page set it. */
  fit?: boolean;
}

export interface FrameOptions {
  format?: "dms" | "decimal";
  names?: { name: string; lat: number; lon: number }[];
}

/** Where a map looks, in canvas pixels. World coordinates run from 0 to 1 (Web Mercator). */
export interface View {
  /** Pixels per world. */
  scale: number;
  left: number;
  top: number;
  width: number;
  height: number;
  ratio: number;
  metresPerPixel: number;
}
