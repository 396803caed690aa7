/** A part of the manual: keys of the top of the project file that belong together, and an example of them. */
export interface Section {
  readonly title: string;
  readonly about: string;
  readonly keys: readonly string[];
  /** YAML. All of them after each other are one sound project file. */
  readonly example: string;
}

export const sections: readonly Section[] = [
  {
    title: 'The project',
    about: 'What the network is, who answers for it, and how often positions come.',
    keys: ['stillmark', 'title', 'purpose', 'timeZone', 'processingInterval', 'responsible'],
    example: `stillmark: 1
title: Fellmoor slope
purpose: Movement of the slope above the works road, from two bases on rock.
timeZone: Europe/London
processingInterval: 24 h
responsible:
  - { role: measurement, name: survey office of the project }
  - { role: slope stability, name: responsible geotechnical engineer }
`,
  },
  {
    title: 'Frame, maps and axes',
    about:
      'In which frame positions stand, how others are brought to it, what station pages show beside it, and what is drawn under the stations.',
    keys: ['frame', 'transformations', 'map', 'axes', 'outline', 'background'],
    example: `frame: { name: ITRF2020, ellipsoid: GRS 1980, epoch: '2026.7' }
# A frame that no published table holds comes with its parameters, in metres, arc seconds and ppm unless units says otherwise.
transformations:
  - from: ITRF2020
    to: old datum of the works
    convention: position vector
    translation: [-84.1, -96.2, -118.3]
    rotation: [0.1, -0.2, 0.3]
    scale: 1.2
    source: adjustment of the survey office
map:
  projection: EPSG:25830
  frame: ETRF2000
  siteGrid:
    name: works grid
    map: { easting: 488800, northing: 6125900 }
    site: { x: 1000, y: 5000 }
    bearing: 12.4
axes: { longitudinalAzimuth: 72, transverse: downhill }
outline: outline.geojson
background:
  image: { file: background/relief.png, name: shaded relief, coordinates: map }
  layers:
    - { file: background/contours.geojson, name: contours in m, labels: elevation }
`,
  },
  {
    title: 'What must be found, and how sure',
    about:
      'The requirement comes from what the structure bears. Leave `statements` out unless you know why another value is wanted.',
    keys: ['requirement', 'reference', 'statements'],
    example: `requirement:
  horizontal: 8 mm
  up: 15 mm
  accuracy: { horizontal: 5 mm, up: 10 mm }
reference:
  constellations: [GPS, Galileo]
  settle: { horizontal: 2 mm, up: 4 mm }
statements: { window: 6 h, present: 24 h, rate: 30 d }
`,
  },
  {
    title: 'Stations',
    about:
      'Bases stand on stable ground outside of what may move, and more than one: a base that moves looks like a movement of everything. Ids are addresses of pages.',
    keys: ['stations'],
    example: `stations:
  - id: B1
    role: base
    on: rock outcrop west of the road, outside the zone of influence
    antenna: invented choke ring antenna
    monument: { type: steel pillar grouted into rock, height: 1.3 m }
    installed: 2026-09-01T12:00:00+01:00
    position: { latitude: 55.28042, longitude: -3.17857, height: 333 } # held: what the processing keeps fixed
  - id: B2
    role: base
    on: rock outcrop east of the road, outside the zone of influence
    position: { latitude: 55.28325, longitude: -3.16206, height: 345 }
    horizon: [[15, 12], [40, 34], [110, 30], [220, 8]]
  - id: S1
    role: monitoring
    on: crest
    position: { latitude: 55.28333, longitude: -3.17553, height: 314 }
    receiver:
      horizontal: { mm: 3, ppm: 0.5 }
      up: { mm: 5, ppm: 1 }
      source: specification of the invented receiver, static
  - id: S2
    role: monitoring
    on: berm
    position: { latitude: 55.2832, longitude: -3.17421, height: 297 }
  - id: S3
    role: monitoring
    on: berm, in the place of S2 since its mast was renewed
    position: { latitude: 55.2832, longitude: -3.17421, height: 297 }
    succeeds: { station: S2, at: 2026-11-02T10:00:00Z }
  - id: S4
    role: monitoring
    on: toe
    position: { latitude: 55.28305, longitude: -3.17299, height: 281 }
`,
  },
  {
    title: 'Positions',
    about: `A stream holds the positions of one processing: vectors from a base that is held, or coordinates of their own. In CSV each row is one epoch; which columns
hold what is declared. There must be \`station\`, \`time\`, three coordinates and the uncertainty:

| coordinates | columns | uncertainty, one of |
|---|---|---|
| \`geocentric\` | \`x\`, \`y\`, \`z\` | \`xx\`, \`xy\`, \`xz\`, \`yy\`, \`yz\`, \`zz\`; or \`sx\`, \`sy\`, \`sz\` |
| \`geodetic\` | \`latitude\`, \`longitude\`, \`height\` | \`ee\`, \`en\`, \`eu\`, \`nn\`, \`nu\`, \`uu\`; or \`se\`, \`sn\`, \`su\` |
| \`map\`, \`EPSG:…\`, PROJ string | \`easting\`, \`northing\`, \`height\` | the same |
| \`site\` | \`siteX\`, \`siteY\`, \`height\` | the same |

How a file is written is declared too (\`dialect\`), never guessed: a number has one meaning or is refused. Files may be packed by gzip or zip.`,
    keys: ['streams', 'outside'],
    example: `streams:
  - name: from-B1
    kind: relative
    base: B1
    solution: epoch-wise
    files: [positions/from-B1/*.csv]
    processing: [{ from: 2026-09-01T00:00:00Z, engine: invented engine 4.1, mask: 10 }]
    columns: { station: station, time: time, x: x, y: y, z: z, xx: cxx, xy: cxy, xz: cxz, yy: cyy, yz: cyz, zz: czz }
  # Semicolons, decimal commas, dates of the office, geodetic coordinates and standard deviations in millimetres:
  - name: from-B2
    kind: relative
    base: B2
    solution: epoch-wise
    files: [positions/from-B2/*.csv]
    coordinates: geodetic
    dialect: { delimiter: ;, decimal: ',', time: DD.MM.YYYY HH:mm:ss, utcOffset: '+00:00' }
    units: { deviation: mm }
    columns: { station: Point, time: Time, latitude: Lat, longitude: Lon, height: H, se: sE, sn: sN, su: sH }
  # Coordinates of their own in SINEX, with the motion of the plate taken off:
  - name: absolute
    kind: absolute
    plate: { model: ITRF2020, name: EURA, epoch: 2026.7 }
    solution: epoch-wise
    format: sinex
    files: [sinex/*.snx.gz]
    sites: { B1: FEL1, B2: FEL2, S1: FES1, S2: FES2, S3: FES3, S4: FES4 }
# Links in the project folder may lead to files there:
outside: [/srv/deliveries/fellmoor]
`,
  },
  {
    title: 'Logs, and what moves a structure by itself',
    about:
      'A log is drawn under the movements. With `response` it may explain them: what it does is learnt from a span, and stands in figures only once a person has committed it (`stillmark commit-response`). With `health` it tells of the network itself.',
    keys: ['sensors', 'response'],
    example: `sensors:
  - name: temperature
    what: air temperature
    unit: °C
    files: [sensors/weather.csv]
    columns: { time: time, value: air_temperature }
    response: { longestLag: 10 d }
    health: { kind: temperature }
  - name: battery
    what: battery of the router of the berm
    unit: V
    files: [sensors/battery.csv]
    columns: { time: time, value: volt }
    health: { kind: battery, of: router of the berm, least: 11.8 }
response: { means: 24 h, seasons: true }
`,
  },
  {
    title: 'Stations against each other',
    about: 'What the base of a stream does is in no figure of two of its stations against each other.',
    keys: ['pairs', 'lines'],
    example: `pairs:
  - { stations: [S1, S4], name: crest and toe }
lines:
  - { stations: [S1, S3, S4], name: down the slope }
`,
  },
  {
    title: 'What happened, and what was decided',
    about:
      'A step that is no movement must be named, or it is stated as movement; a movement must not be named as a step that is none. The kinds of events decide which it is.',
    keys: ['events', 'decisions', 'surveys'],
    example: `events:
  - { at: 2026-10-18T06:00:00+01:00, what: heavy rain }
  - { at: 2026-11-12T11:20:00Z, what: antenna knocked and left where it stands, kind: instrument, station: S4 }
decisions:
  - base: B2
    finding: stable
    by: responsible geotechnical engineer
    at: 2026-11-16T10:00:00Z
    why: Levelling of 14 November against three bench marks.
surveys:
  - station: B2
    at: 2026-11-14T12:00:00Z
    method: levelling from bench marks in the village
    by: survey office of the project
    result: no change against the three bench marks
    movement: { up: { value: -0.2 mm, plusMinus: 1.0 mm } }
`,
  },
  {
    title: 'Levels',
    about:
      'What must be told when it is passed, and to whom. A site is no alarm system on its own. `alarmLoad` lets candidates be tried by simulation before they are set: how often by mistake, how late in earnest.',
    keys: ['triggers', 'acknowledgements', 'alarmLoad', 'assumedNoise'],
    example: `triggers:
  - name: downhill movement
    quantity: transverse
    side: positive
    levels:
      - { name: attention, at: 8 mm, responsible: measurement }
      - { name: alert, at: 20 mm, responsible: slope stability }
  - name: creep
    quantity: transverse
    rateOver: 30 d
    levels: [{ name: attention, at: 5 mm/month, responsible: slope stability }]
  - name: crest against toe
    quantity: settlement
    pairs: [crest and toe]
    basis: estimate
    persistence: 3 of 4
    levels: [{ name: attention, at: 10 mm, responsible: measurement }]
acknowledgements:
  - trigger: downhill movement
    of: S1
    change: 2026-11-20T00:00:00Z
    by: responsible geotechnical engineer
    at: 2026-11-20T08:10:00Z
    comment: Seen on site the same day.
alarmLoad:
  - quantity: transverse
    falseAlarms: 0.5
    step: { size: 12 mm, within: 2 d }
    levels: [6 mm, 8 mm, 10 mm]
assumedNoise:
  horizontal: { white: 1.4 mm, flicker: 2 mm }
  up: { white: 3 mm, flicker: 4 mm }
  source: two antennas on the roof of the office, means of 6 h
`,
  },
  {
    title: 'What the network lives on',
    about:
      'What receivers track, what several stations hang on, and what must be done by when. Nothing is guessed to be shared.',
    keys: ['tracking', 'shared', 'duties'],
    example: `tracking:
  - name: logs
    format: nmea
    files: [receivers/*/*.nmea]
    sites: { S1: receivers/S1/*, S4: receivers/S4/* }
shared:
  - { name: router of the berm, what: 'router, SIM and solar power', stations: [S3, S4] }
duties:
  - what: calibrate the antennas of the bases
    due: 2027-09-01
    every: 2 years
    remind: 30 d
    responsible: measurement
`,
  },
  {
    title: 'The plan',
    about:
      '`stillmark plan PROJECT` tells what follows from it, before any position; later the page of the plan stands beside what was reached.',
    keys: ['plan'],
    example: `plan:
  start: 2026-10-01
  reference: 14 d
  installation: { from: 2026-09-01, to: 2026-09-05 }
  orders: [{ what: receivers, ordered: 2026-06-01, lead: 70 d, received: 2026-08-10 }]
  zone:
    clearance: 50 m
    rules:
      - { kind: angle of draw, what: cut at the toe, depth: 12 m, angle: 35 }
      - { kind: trough, what: drainage tunnel, depth: 20 m, settlement: 12 mm, widthFactor: 0.5 }
  sky: { orbits: [orbits/*.nav], from: 2026-09-01T00:00:00Z }
  power:
    - of: router of the berm
      load: 6
      sunHours: 0.9
      autonomy: 7 d
      installed: { array: 200, battery: 220 }
  communications: [{ of: router of the berm, perStation: 2, plan: 500 }]
  storage: [{ of: router of the berm, perStation: 20, free: 16000, keep: 90 d }]
  processing: { runTime: 11 min }
  checklist: [{ what: what is done at night when a level is reached, by: slope stability }]
  displacementTests: [{ station: S4, at: 2026-11-12T11:20:00Z, set: { east: 10 mm }, by: survey office }]
`,
  },
  {
    title: 'The site in another language, and for those outside',
    about:
      'A file of translations (`stillmark words` writes it, [translating](translating.md) tells how), and what is hidden where a site for those outside is made (`stillmark release`).',
    keys: ['words', 'release'],
    example: `words: words.de.po
release: { hide: { coordinates: true, levels: true }, index: false }
`,
  },
];
