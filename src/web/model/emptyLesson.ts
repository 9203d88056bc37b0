/** Where a new lesson starts: the smallest one that is whole, to be written over. */
export const EMPTY_LESSON = `format: 1
version: 1
id: my-lesson
title: My lesson
summary: What it is about, in a sentence or two.
place: 100
bundles: []
minutes: 20
objectives:
  - What a learner will be able to do.
outOfScope:
  - What this lesson leaves out.
prerequisites: []
scenario: jaw-clencher
hidden: { replicates: 12, seeds: per-attempt }
settings:
  - kind: number
    id: block-length
    path: averaging.blockWeighting.blockLength
    text: Sweeps in a block
    unit: sweeps
    minimum: 4
    maximum: 512
    start: 256
runs:
  - id: patient
    title: the patient
    bench: true
    settings: [block-length]
    strategies: [plain-mean, block-weighting]
report: { run: patient, targetNv: 40 }
predictions:
  - kind: choice
    id: which-is-quieter
    text: Which leaves less residual noise here?
    points: 20
    figure:
      figure: ratio
      of: { figure: residual-noise, run: patient, lane: plain-mean }
      to: { figure: residual-noise, run: patient, lane: block-weighting }
    options:
      - { id: mean, text: The plain mean, to: 1 }
      - { id: blocks, text: Blocks with weights, from: 1 }
confidencePoints: 0
outcome:
  - id: short-block
    text: Your block is no longer than a burst
    points: 40
    figure: { figure: setting, setting: block-length }
    full: 24
    none: 100
measurements:
  - kind: number
    id: how-many-times
    text: How many times noisier is the plain mean?
    unit: times
    points: 20
    tolerance: 0.3
    figure:
      figure: ratio
      of: { figure: residual-noise, run: patient, lane: plain-mean }
      to: { figure: residual-noise, run: patient, lane: block-weighting }
explanations:
  - kind: choice
    id: why
    text: Why?
    points: 20
    figure:
      figure: ratio
      of: { figure: residual-noise, run: patient, lane: plain-mean }
      to: { figure: residual-noise, run: patient, lane: block-weighting }
    options:
      - { id: bursts, text: A loud block counts for little, from: 1 }
      - { id: luck, text: By chance, to: 1 }
essay:
  prompt: Explain it to a colleague.
  minimumWords: 40
  maximumWords: 120
  rubric:
    - "Cause."
    - "Evidence."
hintCostPoints: 1
players:
  textbook:
    settings: { block-length: 16 }
    answers: { which-is-quieter: blocks, how-many-times: 1.5, why: bursts }
  careless:
    settings: { block-length: 256 }
    answers: { which-is-quieter: mean, how-many-times: 5, why: luck }
debrief:
  - What to take home.
`;
