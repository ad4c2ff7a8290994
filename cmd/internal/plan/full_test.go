package plan

// full is a plan in which every key stands.
const full = `# a trip
version: 1
title: Two days over the pass
example: true
zone: Europe/Andorra
as_of: 2026-11-24 08:00
emergency: 112
distress_signal: six
seed: 7
person:
  name: Quill Underwood
  phone: [555 0100, 555 0101]
  clothes: "green: jacket"
terrain: [dem/N42E001.hgt, /data/more]
weather:
  visibility: 20 km
  refraction: 0.15
  cloud: broken
  lights_about: some
  wind: 9 km/h
  haze_height: 1 km
  cloud_base: 900 m
  temperature: 50 F
  humidity: 40 %
hours:
  - 2026-11-24 12:00
  - 2026-11-24T22:00:00Z
starts:
  - name: hut
    kind: last-known
    position: 42.55, 1.60
    error: 100 m
    time: 2026-11-23 17:10 Europe/Madrid
    source: the hut book
    superseded_by: ford
  - {name: ford, kind: last-seen, position: "42.56, 1.61", sd: 40 m, time: 2026-11-24 09:00}
traveller:
  log: legs.txt
  log_sigma_distance: 4 %
  log_sigma_bearing: 2.5 deg
  scale_bias: 1%
  bearing_bias: 1 deg
  track: t.gpx
  rule: tobler
  trails: [trails.geojson]
  barriers: [streams.geojson]
  handrails: [streams.geojson]
  rest: "22:00-06:00"
  night: dark
  load: 20 kg
  body: 80 kg
  crossing: streams
  time_factors: {wood: 3, wetland: 4.5}
  walkers: {slow: 0.5, usual: 0.9, fast: 1.5}
  after: [30 min, 1 h, 2 h]
  signals:
    - name: lamp
      light: 100 cd
      flash: 0.1 s
      every: 60/min
      beam: 40 deg
      azimuth: 120 deg
      tilt: -5 deg
      rated_time: 6 h
      lit_from: 2026-11-24 18:00
      height: 1 m
    - name: torch
      lumens: 300
      beam: 40 deg
    - name: headlamp
      beam_distance: 100 m
    - name: cloth
      flag: 0.5 x 1 m
      reflectance: 40 %
      on: 0.1
    - name: fire
      fire: 100 kW
      bed: 0.6 m
    - name: column
      smoke: 12 g/s
      yield: 0.1
      stability: E
      column: dark
      on: 0.8
    - {name: glass, mirror: 76x127 mm, mirror_reflectivity: 60 %, mirror_sweep: 5 deg/s, second_mirror: true, toward: 120/-3}
    - {name: pipe, whistle: 115 dB, tone: 2.5 kHz, noise: 45 dB, foliage: 50 m}
    - {name: voice, shout: 90 dB}
    - {name: banner, flag: 1 x 1 m, cloth: fluorescent-orange, cloth_wind: 2 m/s, lighting: shade, on: snow}
    - {name: walker, posture: lying, clothing: high}
    - {name: letter, symbol: X, length: 4 m, stroke: 0.6 m}
    - {name: tape, reflector: 100 cm2, reflectivity: 400, headlamp: 800 cd}
    - {name: three, fire: 100 kW, fires: 3, apart: 30 m}
    - {name: spot, beam_table: "0 deg: 500 cd, 20 deg: 80 cd", colour: red, flash: 0.1 s, every: 2 s, pulses: 2, gap: 0.2 s, pulse_shape: triangular, flash_law: modified-allard-2008, flash_constant: 0.21 s}
    - {name: old lamp, light: 40 cd, beam: 20 deg, beam_shape: smooth, spill: 5 %, rated_time: 8 h, battery_curve: falling, cold: 60 %}
    - {name: measured, light: 40 cd, battery_curve: "0h:100%,6h:10%"}
    - {name: flare, standard: lsa-parachute-flare}
looking:
  eye_height: 1.6 m
  eyes: {age: 50, adapted: false, glare: 0.1 lx @ 30 deg, own_lamp: 200 lm, law: adrian-1989, clutter: scrub, sector: 120x30 deg, attention: 40 %, look: 2 min}
  parties:
    - name: first
      track: t.gpx
      people: 4
      spacing: 20 m
    - name: second
      route: t.gpx
      start: 2026-11-24 10:00
      eyes: {observer: glasses, optics: 8x40, on_stand: true, age: 30}
  lookouts:
    - name: ridge
      position: 42.57, 1.62
      from: 2026-11-24 18:00
      until: 2026-11-24 23:00
      people: 2
      eyes: {observer: intensifier, threshold: 1e-6 lx, contrast_threshold: 0.05}
  aircraft:
    - {name: north, altitude: 300 m, track: t.gpx, people: 2, speed: 90 kn, fatigue: true}
    - {name: south, altitude: 500 ft, route: t.gpx, start: 2026-11-24 10:00, task: scan}
placement:
  - count: 2
    signal: lamp
    candidates:
      - name: knoll
        position: 42.551, 1.601
      - name: shoulder
        position: places.gpx#Shoulder
  - {question: route, route: t.gpx, among: route, spacing: 200 m, within: 2 km, max_slope: 20 deg, reach: 1 h, reach_from: hut, fire_allowed: false}
  - question: attract
    shows: {name: beacon, light: 5000 cd}
    among: [ridges, knolls]
    ground_seen_by: KB
    forced: true
  - {question: relay, base: here, to: there, count: 2, candidates: [{name: here, position: "42.55, 1.6"}, {name: there, position: "42.56, 1.61"}]}
likelihood:
  outside: 10 %
  by: KB
  at: 2026-11-24 20:00
  within: 8 km
  cell: 50 m
  search_areas: trails.geojson
  not_searched: trails.geojson
  search_party: {people: 5, spacing: 20 m, speed: 2 km/h, hours: 4 h}
  views:
    - name: their log
      weight: 40 %
      by: KB
      from: the log
      log: true
      course: 210 deg
      course_sd: 10 deg
      gone: 2 km
      reach: true
      not_in: trails.geojson
    - name: others
      weight: 30 %
      by: TR
      distances: [10 % 0 m, 50 % within 1.2 km, "90% 6km"]
      smooth: true
      around: hut
      direction: 120 deg
      direction_sd: 30 deg
      direction_from: a companion
      near:
        - {file: trails.geojson, times: 3, width: 80 m, from: our own cases}
    - name: read
      weight: 5 %
      by: TR
      published: dementia-uk
    - name: drawn
      weight: 20 %
      by: AM
      areas:
        - {name: north bowl, file: trails.geojson, share: 30 %, by: AM}
    - name: lost
      weight: 5 %
      by: AM
      wander: 3 h
      turns: 30 deg
    - name: hut
      weight: 0
      by: AM
      start: hut
    - name: nothing known
      weight: 0
      by: AM
      even: true
searched:
  - name: first evening
    from: 2026-11-25 08:00
    until: 2026-11-25 12:00
    looked_for: cloth
    shown: 50 %
    width: 30 m
    parties:
      - {name: Valley, tracks: [t.gpx], people: 5, spacing: 20 m, carrier: 2, speed: 1.8 km/h, fatigue: true, eyes: {age: 30}}
      - {name: alone, tracks: t.gpx, start: 2026-11-25 08:00}
  - name: second
    detection_range: 25 m
    conspicuity: high
    parties: [{name: alone, tracks: t.gpx}, {name: helicopter, tracks: t.gpx, altitude: 150 m, speed: 90 kn}]
not_seen:
  - {name: no lamp, signal: lamp, shown: 60 %, by: [first, ridge], from: 2026-11-24 19:00, until: 2026-11-24 23:00, observed: true}
  - {signal: cloth, from: 2026-11-24 12:00, until: 2026-11-24 13:00}
mobile: 20 %
effort:
  from: 2026-11-25 13:00
  until: 2026-11-25 17:00
  max_slope: 30 deg
  looked_for: walker
  detection_range: 20 m
  conspicuity: low
  parties:
    - {name: Valley, hours: 4 h, position: "42.55, 1.60", people: 5, speed: 1.8 km/h, by_night: true, fatigue: true, eyes: {age: 30}}
    - {name: alone, hours: 90 min, position: "42.56, 1.60"}
drill:
  objective: find them before dark
  briefing: [A walker is overdue., She was last seen at the ford.]
  begins: 2026-11-28 09:00
  ends: 2026-11-28 14:00
  emergency_word: granite
  safety_officer: KB
  tell: [police, warden]
  safety: turn back at the snow
  water_known: K.B.
  ground_seen: TR
  not_in: t.gpx
  hide:
    - {name: walker, shows: [lamp, cloth]}
    - {name: jacket, shows: cloth, alone: true}
radio: [channel 5, "base: Askel one"]
medical: first aid at the hut
report_every: 30 min
handheld: points-500
route_limit: 50
trip:
  start: 2026-11-24 09:00
  route: t.gpx
  rests: 90 min
  alarm_margin: 3 h
  turn_round: 2026-11-24 13:00
  asks: [look for the car at the chapel]
hazards:
  - {name: old shaft, position: "42.56, 1.605", radius: 30 m, note: "open, no fence", gear: a rope, source: the warden}
  - {name: north face, area: trails.geojson, note: stones fall after noon}
sheet: {paper: A3, scale: "1:40 000"}
fill_voids: 50
cover: [cover.geojson]
cover_elsewhere: grass
canopy_height: 18 m
spot_heights: t.gpx
plants: {stems: 800 /ha, stem_width: 0.25 m, leaf_area: 3, canopy_height: 20 m}
`
