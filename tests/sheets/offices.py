"""Offices that are made for the sheets: large ones, with names as long as people write them, and one whose texts are made to do harm."""

HOSTILE = [
    "<script>document.title='taken'</script>",
    "</style><style>*{display:none}</style>",
    "\\\"><img src=x onerror=alert(1)>",
    "<svg onload=alert(1)><a href=javascript:alert(1)>here</a>",
    "--></script><script src=https://192.0.2.1/x.js></script>",
    "{{7*7}} ${7*7} &lt;b&gt;",
]
"""Texts as they are written in an office. What they say is `said` below."""


def said(text):
    return text.replace('\\"', '"')


def large(name, title, cables, sensors, long_names):
    """An office with so many cables and sensors on them."""
    tail = "-behind-the-second-door-on-the-left-of-the-yard" if long_names else ""
    label = " in the long title that somebody has given to it because there are three streets of nearly the same name" if long_names else ""
    lines = [
        f'office {name} {{ title "{title}", site "GEN-{name}", elevation 300 m, coldest -20 degC, stage installed, note "{title}: ask for the key." }}',
        "battery main { nominal -48 V, working -43 V .. -54 V, filtered yes }",
        "ground-bar ogb { principal yes }",
        "fuse-panel pdf { positions 1 .. 20, current-max 60 A }",
        f"monitor m1{tail} {{ sensors 64, contacts 16, draws 60 W, window -40.5 V .. -57 V, ground-size 6 awg, loop-max 6000 ohm, link lan \"192.0.2.9\" }}",
        "power main -> pdf with 30 A, 6 awg, 5 m",
        f"power pdf fuse 1 -> m1{tail} with 5 A, 14 awg, 6 m",
        f"ground m1{tail} frame -> ogb with 6 awg, 3 m",
        "ground pdf frame -> ogb with 6 awg, 2 m",
        f"dryer d1{tail} {{ compressor scroll, delivers 30 psi, capacity 400 scfh, dew-point -40 degC, contact humidity {{ healthy closed, note \"Work the contact by hand.\" }} }}",
        "regulator r1 { set 10 psi, differential 5 psi, inlet-max 60 psi, flow-max 300 scfh, relief 15 psi }",
        f"manifold mf{tail} {{ ports {cables + 2}, rating 30 psi }}",
        f"air d1{tail} -> r1 -> mf{tail} with 1/2 in tube, 3/8 in bore, 6 m",
        f"block tb{tail} {{ pairs 100, pins yes }}",
        f"wire d1{tail} contact humidity -> tb{tail} pair 90 -> m1{tail} contact 1",
        f"spare tb{tail} pair rest",
        f"spare m1{tail} sensor rest",
        f"spare m1{tail} contact rest",
        f"spare mf{tail} port rest",
        "spare pdf fuse rest",
    ]
    number = 0
    for cable in range(1, cables + 1):
        own = sensors // cables + (1 if cable <= sensors % cables else 0)
        called = f"c{cable}{tail}"
        sections = " ".join(
            f"section s{at} {{ {('underground', 'buried', 'aerial')[at % 3]} 400 m, resistance 0.05 psi/scfh/kft, usage 0.4 scfh, volume 3 ft3"
            f"{', depth 1 m' if at % 3 == 0 else ''} }}\n"
            for at in range(1, own + 2)
        )
        places = " ".join(f"place mh-{cable}-{at} {{ at {150 * at} m, note \"Manhole {at} of cable {cable}.\" }}\n" for at in range(1, 4))
        branch = f"branch b1 {{ from 300 m, section t1 {{ buried 200 m, resistance 0.1 psi/scfh/kft, usage 0.2 scfh }} }}\n" if cable % 3 == 0 else ""
        lines.append(f'cable {called} {{ title "Cable {cable}{label}", pairs 200, gauge 24 awg, rating 20 psi\n{sections}{places}{branch}}}')
        lines.append(f"air mf{tail} port {cable} -> {called} with 3/8 in tube, 1/4 in bore, 3 m")
        for at in range(1, own + 1):
            number += 1
            sensor = f"ps-{cable}-{at}{tail}"
            lines.append(
                f'pressure-sensor {sensor} {{ title "Sensor {number}{label}", at {called} {400 * at - 30} m, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi\n'
                "limit low 3.5 psi minor deadband 0.4 psi\nlimit low-low 3 psi major deadband 0.4 psi\nlimit high 13 psi warning deadband 0.4 psi }"
            )
            lines.append(f"wire {sensor} -> {called} pair {at} -> tb{tail} pair {number} -> m1{tail} sensor {number}")
            if at == 1:
                # One is off: for each that is, the whole cable is searched for the leak that would explain it.
                lines.append(f"reading 2026-05-12 {sensor} {8.1 if cable == 1 else 9.9} psi")
        lines.append(f"assigned {called} pair 100 .. 180 to \"subscribers{label}\"")
        lines.append(f'defective {called} pair 181 because "open at mh-{cable}-1"')
        lines.append(f"spare {called} pair rest")
    return "\n".join(lines) + "\n"


def hostile():
    """An office in which each text tries to be something else than text."""
    texts = iter(HOSTILE * 9)
    lines = [f'office hostile {{ title "{HOSTILE[0]}", site "{HOSTILE[2][:20]}", elevation 300 m, stage planned, note "{HOSTILE[1]}" }}']
    for kind, rest in [
        ("battery b", "nominal -48 V, filtered yes"),
        ("dryer d", "compressor scroll, delivers 30 psi, capacity 100 scfh"),
        ("regulator r", "set 10 psi"),
        ("manifold mf", "ports 4, rating 30 psi"),
        ("block tb", "pairs 25"),
        ("monitor m", "sensors 4"),
    ]:
        lines.append(f'{kind} {{ {rest}, title "{next(texts)}", model "{next(texts)}", location "{next(texts)}", note "{next(texts)}" }}')
    lines += [
        f'cable c1 {{ pairs 25, gauge 24 awg, title "{next(texts)}", section s1 {{ buried 1 km, resistance 0.1 psi/scfh/kft, usage 1 scfh, note "{next(texts)}" }} }}',
        f'pressure-sensor ps {{ at c1 1 km, span 0 .. 15 psi, title "{next(texts)}", note "{next(texts)}" }}',
        "air d -> r -> mf",
        "air mf port 1 -> c1",
        "wire ps -> c1 pair 1 -> tb pair 1 -> m sensor 1",
        f'assigned tb pair 2 .. 3 to "{next(texts)}"',
        f'defective tb pair 4 because "{next(texts)}"',
    ]
    return "\n".join(lines) + "\n"


def changed(text):
    """The example office with a sensor more, one less, a pair moved and a larger conductor."""
    steps = [
        ("wire p1                     -> tb pair 2        -> m1 sensor 2      with 22 awg, 8 m\n", ""),
        ("-> tb pair 3        -> m1 sensor 3", "-> tb pair 5        -> m1 sensor 3"),
        ("spare tb pair 5 .. 25", "spare tb pair rest"),
        ("with 3 A,    14 awg, 6 m", "with 3 A,    12 awg, 6 m"),
        ("spare c101 pair 1 .. 36\n", "spare c101 pair rest\n"),
        ("spare c101 pair 38 .. 50\n", ""),
        ("spare m1 sensor 4 .. 8", "spare m1 sensor rest"),
        ("air mf port 2               -> p1               with 1/4 in tube,    0.17 in bore,   0.5 m\n", ""),
        ("spare mf port 3 .. 4", "spare mf port rest"),
    ]
    for old, new in steps:
        assert old in text, old
        text = text.replace(old, new)
    start = text.index("pressure-sensor p1 {")
    text = text[:start] + text[text.index("}\n", start) + 2 :]
    return text + (
        "pressure-sensor ps2 { at c101 1.2 km, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, proof 30 psi, limit low 6 psi minor deadband 0.3 psi }\n"
        "wire ps2 -> c101 pair 38 -> tb pair 6 -> m1 sensor 4\n"
    )


ALL = {
    "large": large("large", "A large office", cables=12, sensors=40, long_names=False),
    "long-names": large("long-names", "An office with a title that goes on and on, since the county wants the name of the street, the parish and the exchange in it", 12, 40, True),
    "one-cable": large("one-cable", "Twenty sections on one cable", cables=1, sensors=19, long_names=False),
    "hostile": hostile(),
    "empty": 'office empty { title "Nothing yet", stage planned }\n',
}
