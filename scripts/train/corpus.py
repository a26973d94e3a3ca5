"""Text for training lines: what motor plates say, by rules, and general English text.

Every string is made of the alphabet's symbols, single spaces inside, none at the ends. Makers, models and serials are
random: nothing here is a real one.
"""
import csv
import random
import re
from pathlib import Path

from atlas import ACCENTED, plain

DATA = Path(__file__).parent / "data"
TOOL = Path(__file__).parents[2] / "src/plate/data"  # what the tool itself takes for labels, in six languages
CONFUSED = ("6G", "8B", "0OD", "5S", "17TIl", "4A", "2Z", "3E", "CG", "UV", "MN", "QO0", "PR", "HN", "96", "38", "56", ".-", "/1", "KX")
DECISIVE = "volts amps amps amps service_factor_amps hp hp kw rpm rpm phase hertz service_factor service_factor frame frame capacitor_uf capacitor_volts kva_code model serial".split()
VOLTS = "110 115 120 127 190 200 208 220 230 240 265 277 280 300 346 347 380 400 415 440 460 480 525 550 575 600 660 690".split()
RPM = "570 690 705 800 825 830 840 850 860 875 900 950 1000 1050 1075 1100 1110 1120 1140 1150 1160 1165 1175 1180 1200 1350 1390 1400 \
1410 1425 1430 1440 1450 1460 1500 1550 1620 1625 1650 1700 1710 1725 1730 1735 1740 1745 1750 1755 1760 1765 1770 1775 1780 1800 2800 \
2850 2880 2900 2910 2940 3000 3200 3400 3420 3450 3460 3475 3485 3500 3510 3520 3525 3530 3540 3550 3565 3570 3600".split()
HP = "1/100 1/70 1/50 1/40 1/30 1/25 1/20 1/15 1/12 1/10 1/8 1/7 1/6 1/5 1/4 1/3 2/5 1/2 3/4 .25 .33 .5 .75 0.5 0.75 1 1-1/2 1 1/2 1½ 1.5 2 2.5 \
3 3.5 4 5 5.5 7-1/2 7 1/2 7.5 7½ 10 15 20 25 30 40 50 60 75 100 125 150 200 250 300".replace(" 1/2", "_1/2").split()
FRAMES = "42 48 48Y 48Z 48T 48J 42Y 56 56C 56H 56Y 56J 56HC 56Z S56 L56 56HZ 66 66Y 143T 145T 143TC 145TC 145JM 182 182T 184 184T 184TC 184JM 213 213T \
215 215T 215TC 215JP 254T 254U 256T 256U 284T 284TS 286T 286TS 324T 324TS 326T 326TS 364T 365T 365TS 404T 405T 405TS 444T 445T 445TS 447T \
449T 63 71 80 90S 90L 100L 112M 132S 132M 160M 160L 180M 200L 225S 250M 280S 315M".split()
ENCLOSURES = "TEFC TENV TEAO ODP DP OPEN AO OAO AIR_OVER TEBC WPI WPII XPRF EXP TEWD DRIP_PROOF ENCL_OPEN IP44 IP54 IP55 IP56 IP21 IP23 TEXP".replace("_", " ").split()
DUTIES = "CONT CONT. CONTINUOUS 24_HR CONT_AO AIR_OVER S1 S2_30_MIN S3_40% 30_MIN 60_MIN 1_HR INT CONT/AO S6".split()
ROTATIONS = "CW CCW CWLE CCWLE CWSE CCWSE CWOSE CCWOSE REV REVERSIBLE CW_LE CCW_LE EITHER CWPE CCWPE CW/CCW CCW-LE CWODE".split()
COLOURS = "BLK BLU RED WHT YEL ORG BRN PUR GRN GRY PNK BLACK BLUE WHITE YELLOW ORANGE BROWN PURPLE GREEN VIO GRN/YEL BRN/WHT".split()
WIRING = "LINE L1 L2 L3 T1 T2 T3 T4 T5 T6 T7 T8 T9 T10 T11 T12 U1 V1 W1 U2 V2 W2 P1 P2 J1 COM HI LO MED CAP GND OPEN JOIN TOGETHER LOW_VOLTAGE HIGH_VOLTAGE \
LOW HIGH TO_REVERSE INTERCHANGE REVERSE_ROTATION CONNECT LEADS INSULATE SEPARATELY CONNECTION_DIAGRAM WYE DELTA START RUN".split()
NOTES = """THERMALLY PROTECTED|IMPEDANCE PROTECTED|AUTOMATIC RESET|MANUAL RESET|THERMAL PROTECTOR|GROUND THE MOTOR|DISCONNECT POWER BEFORE SERVICING|WARNING
|CAUTION|DANGER|DO NOT OIL|OIL ANNUALLY|SAE 20 OIL|RELUBRICATE|SEE INSTRUCTIONS|SUITABLE FOR OUTDOOR USE|FOR VERTICAL OR HORIZONTAL MOUNTING|MADE IN U.S.A.
|ASSEMBLED IN MEXICO|USE COPPER CONDUCTORS ONLY|INVERTER DUTY|PREMIUM EFFICIENCY|SEVERE DUTY|FARM DUTY|DIRECT DRIVE|BELT DRIVE|CONDENSER FAN MOTOR
|BLOWER MOTOR|POOL PUMP MOTOR|JET PUMP MOTOR|INDUCTION MOTOR|AC MOTOR|ELECTRIC MOTOR|3 PHASE INDUCTION MOTOR|SINGLE PHASE MOTOR|PERMANENT SPLIT CAPACITOR
|SHAFT DOWN|SHAFT UP|ALL ANGLE|ALL POSITION|BALL BEARING|SLEEVE BEARING|KEEP AWAY FROM MOVING PARTS|TO REVERSE ROTATION INTERCHANGE|MOTOR MAY START AT ANY TIME
|COMPLIES WITH|REPLACE WITH SAME TYPE|NON-REVERSIBLE|USABLE AT 208 VOLTS|USABLE ON 208V|CLASS I GROUP D|MAX AMBIENT|MULTI-SPEED|2 SPEED|3 SPD|EFF""".replace("\n", "").split("|")

# As French, Spanish, Portuguese, Italian and German print them; the label lists have them without accents.
ACCENTS = {w.translate(str.maketrans("ÀÁÂÃÄÇÈÉÊÎÍÓÔÖÚÜ", "AAAAACEEEIIOOOUU")): w for w in """MODÈLE SÉRIE BÂTI BOÎTIER FRÉQUENCE INTENSITÉ RÉFÉRENCE RÉGIME CATÉGORIE
CHÂSSIS TENSIÓN CÓDIGO ROTAÇÃO CARCAÇA TENSÃO FREQUÊNCIA VELOCITÀ WÄRMEKLASSE WÄRMEKL BAUGRÖSSE ARMAZÓN""".split()}
UNITS = {"volts": "V", "amps": "A", "service_factor_amps": "A", "hp": "HP", "kw": "kW", "rpm": "min-1", "hertz": "Hz", "nominal_efficiency": "%", "capacitor_uf": "µF",
         "capacitor_volts": "V", "ambient_c": "°C", "power_factor": "%"}
NEIGHBOURS = "phase/hertz hertz/phase service_factor/service_factor_amps frame/enclosure insulation_class/ambient_c volts/amps hp/kw kw/hp rpm/hertz design/kva_code \
kva_code/design duty/ambient_c power_factor/nominal_efficiency enclosure/duty model/serial volts/hertz hp/rpm volts/phase insulation_class/duty".split()
SENTENCES = """3-PHASE INDUCTION MOTOR|MOTEUR À INDUCTION TRIPHASÉ|MOTEUR TRIPHASÉ / THREE PHASE MOTOR|MOTOR TRIFÁSICO|MOTOR MONOFÁSICO|DREHSTROMMOTOR|MOTORE ASINCRONO TRIFASE
|MOTEUR ASYNCHRONE|SUITABLE FOR BELT DRIVE|USABLE ON 208V NETWORK AT|CAUTION: GROUND MOTOR|ATTENTION: METTRE LE MOTEUR À LA TERRE|ATENCIÓN: CONECTE A TIERRA|PROTÉGÉ THERMIQUEMENT
|THERMALLY PROTECTED / PROTECTION THERMIQUE|CONNECT / BRANCHER|BRG / PALIERS|INVERTER / ONDULEUR|LOW SPEED|HIGH SPEED|MUST BE IN FAN AIR STREAM|CAPACITOR START|FACTORY SET
|MADE IN|FABRIQUÉ AU|HECHO EN MÉXICO|COOLING TOWER DUTY|TWO SPEED ONE WINDING|VARIABLE TORQUE|CONSTANT TORQUE|CLASS I DIV. 2 GR. A, B, C, D|SHAFT END|LUBRICATE / LUBRIFIER""".replace("\n", "").split("|")


def load_labels():
    rows = (line.split(",", 1) for line in (DATA / "plate_labels.csv").read_text(encoding="utf8").splitlines() if not line.startswith("#"))
    labels = {}
    for field, label in list(rows)[1:]:
        labels.setdefault(field, []).append(label.strip('"'))
    return labels


def load_tool_labels():
    labels = {}
    for path in sorted(TOOL.glob("*_labels.csv")):
        rows = csv.DictReader(line for line in path.read_text(encoding="utf8").splitlines() if not line.startswith("#"))
        for row in rows:
            labels.setdefault(row["field"], []).append(row["label"].replace("∆", "Δ"))
    return labels


class Corpus:
    def __init__(self, alphabet, words, seed):
        """`words`: a list of English words (Debian package wamerican-large or wbritish)."""
        self.r, self.words, self.alphabet, self.labels = random.Random(seed), words, set(alphabet), load_labels()
        self.all_labels = [x for xs in self.labels.values() for x in xs]
        self.tool_labels, self.drawn = load_tool_labels(), self.alphabet | set(ACCENTED)
        self.makers = {"volts": self.volts, "amps": self.amps, "service_factor_amps": self.amps, "hp": self.hp, "kw": self.kw, "rpm": self.rpm,
                       "phase": lambda: self.r.choice("1133"), "hertz": self.hertz, "service_factor": self.service_factor,
                       "frame": lambda: self.r.choice(FRAMES), "enclosure": lambda: self.r.choice(ENCLOSURES), "duty": lambda: self.r.choice(DUTIES),
                       "insulation_class": lambda: self.r.choice("ABFHBFB") + self.r.choice(["", "", "", "4", " 130°C"]),
                       "kva_code": lambda: self.r.choice("ABCDEFGHJKLMNPRSTUV"), "design": lambda: self.r.choice("ABCDLNO"),
                       "nominal_efficiency": lambda: f"{self.r.uniform(40, 97):.{self.r.choice([0, 1, 1, 1, 2])}f}" + self.r.choice(["", "", "%"]),
                       "power_factor": lambda: self.r.choice([f".{self.r.randint(40, 99)}", f"0.{self.r.randint(40, 99)}", f"{self.r.randint(40, 99)}", f"{self.r.uniform(40, 99):.1f}"]),
                       "capacitor_uf": self.capacitor, "capacitor_volts": lambda: self.r.choice("370 440 370V 440VAC 250 330 165 125 110".split()),
                       "rotation": lambda: self.r.choice(ROTATIONS), "ambient_c": lambda: self.r.choice("40 40C 40°C 60°C 50 70C 65°C 104°F 40_°C 55".split()),
                       "model": self.code, "serial": self.code}

    def some(self, make, low=1, high=3, seps=("/", "/", "/", "-", ", ")):
        return self.r.choice(seps).join(make() for _ in range(self.r.randint(low, high)))

    def volts(self):
        r, v = self.r, lambda: self.r.choice(VOLTS)
        forms = [v, v, lambda: f"{v()}/{v()}", lambda: f"{v()}-{v()}", lambda: f"{v()}-{v()}/{v()}", lambda: f"{v()}/{v()}-{v()}", lambda: "208-230/460",
                 lambda: "208-230", lambda: "230/460", lambda: "115/208-230", lambda: f"{v()}/{v()}/{v()}", lambda: "220-240/380-415"]
        return r.choice(forms)() + r.choice(["", "", "", "V", " V", "VAC", "V~"])

    def number(self, top=120):
        """A current, with the decimals plates give: 0.55, .9, 6.8, 13.6, 104."""
        r = self.r
        x = 10 ** r.uniform(-0.6, 2.1) if r.random() < 0.8 else r.uniform(0, top)
        s = f"{x:.{r.choice([2, 1, 1]) if x < 10 else r.choice([1, 1, 1, 0, 2]) if x < 30 else r.choice([1, 0, 0])}f}"
        return s[1:] if s.startswith("0.") and r.random() < 0.5 else s

    def amps(self):
        n = self.number
        forms = [n, n, n, lambda: f"{n()}/{n()}", lambda: f"{n()}-{n()}/{n()}", lambda: f"{n()}-{n()}", lambda: f"{n()}/{n()}/{n()}", lambda: f"{n()} / {n()}",
                 lambda: f"{n()}, {n()}"]
        return self.r.choice(forms)() + self.r.choice(["", "", "", "", "A", " A", " AMPS"])

    def hp(self):
        r, h = self.r, lambda: self.r.choice(HP).replace("_", " ")
        return r.choice([h, h, h, h, lambda: f"{h()}-{h()}", lambda: f"{h()}, {h()}", lambda: f"{h()}, {h()}, {h()}", lambda: f"{h()}/{h()}"])()

    def kw(self):
        r = self.r
        return r.choice([f"{r.uniform(.05, 1):.2f}", f"{r.uniform(.3, 9):.1f}", f"0.{r.randint(1, 99)}", f".{r.randint(1, 99)}", str(r.randint(1, 200)), f"{r.uniform(1, 60):.2f}"]) + \
            r.choice(["", "", "kW", " KW", " kW"])

    def rpm(self):
        r, n = self.r, lambda: self.r.choice(RPM) if self.r.random() < 0.7 else str(self.r.randint(400, 3600))
        return r.choice([n, n, n, n, lambda: f"{n()}/{n()}", lambda: f"{n()}-{n()}", lambda: f"{n()}/{r.randint(2, 4)} SPD"])()

    def hertz(self):
        return self.r.choice("60 60 60 50 50/60 60/50 60HZ 60_HZ 50Hz 60Hz 60CY 60~ 25-60".split()).replace("_", " ")

    def service_factor(self):
        return self.r.choice("1.0 1 1.00 1.15 1.15 1.25 1.35 1.4 1.3 1.2 1.5 1.6 1.65 1.75 1.10 1.05 1.01".split())

    def capacitor(self):
        r = self.r
        c = r.choice("2 2.5 3 4 5 6 7.5 10 12.5 15 20 25 30 35 40 45 50 55 60 70 80".split())
        return r.choice([c, c + r.choice([" MFD", "MFD", " µF", "µF", "uF", " uf"]), f"{c}/{r.choice(['370', '440'])}", f"{c} MFD {r.choice(['370', '440'])}V", f"{c}/370VAC", f"{r.randint(21, 1000)}-{r.randint(25, 1300)}"])

    def code(self):
        """A model or serial number: groups of letters and digits, half of them from the pairs that get confused."""
        r, groups = self.r, []
        for _ in range(r.choice([1, 1, 1, 1, 2, 2])):
            n, kind = r.randint(1, 8), r.random()
            pool = "0123456789" if kind < 0.3 else "ABCDEFGHJKLMNPRSTUVWXYZ" if kind < 0.4 else "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
            group = "".join(r.choice(pool) for _ in range(n))
            if kind > 0.7:
                group = "".join(r.choice(r.choice(CONFUSED[:20])) if r.random() < 0.6 else c for c in group)
            groups.append(group)
        return r.choice(["-", "", "", " ", "/", "."]).join(groups)

    def confused(self):
        r = self.r
        return "".join(r.choice(r.choice(CONFUSED)) for _ in range(r.randint(1, 10))).strip(".-/ ") or "8"

    def digits(self):
        """Numbers for their own sake; point, dash and slash are what must not get lost."""
        r = self.r
        part = lambda: r.choice([f"{r.randint(0, 9)}.{r.randint(0, 9)}", f"{r.randint(0, 99)}.{r.randint(0, 99)}", f".{r.randint(0, 99)}", str(r.randint(0, 9999)), f"{r.randint(1, 9)}/{r.randint(2, 16)}",
                                 f"{r.randint(1, 400)}.{r.randint(0, 9)}", str(r.randint(0, 99))])
        return self.some(part, 1, 4, ("/", "-", " ", ", ", "-", "/", " - ", " / ", "x", ":"))

    def wiring(self):
        r, lead = self.r, lambda: self.r.choice(WIRING + COLOURS * 2).replace("_", " ")
        return r.choice([lambda: f"{lead()}-{lead()}", lambda: f"{lead()}={lead()}", lambda: " ".join(lead() for _ in range(r.randint(2, 5))), lead, lambda: f"{lead()} {r.randint(1, 12)},{r.randint(1, 12)},{r.randint(1, 12)}",
                         lambda: "-".join(str(r.randint(1, 12)) for _ in range(r.randint(2, 4))), lambda: f"({lead()} {lead()})", lambda: f"L{r.randint(1, 3)}→T{r.randint(1, 9)}"])()

    def name(self):
        r, s = self.r, "".join(self.r.choice("bcdfghklmnprstvwz") + self.r.choice("aeiou") + self.r.choice(["", "", "n", "r", "l", "s", "x"]) for _ in range(self.r.randint(1, 4)))
        s = r.choice([s.upper(), s.title(), s.upper()])
        return s + r.choice(["", "", " MOTORS", " ELECTRIC", " MFG CO", " INC.", " MOTOR WORKS", " & CO", " Ltd."])

    def plate(self):
        r = self.r
        kind = r.random()
        if kind < 0.30:  # label with its value
            field = r.choice(list(self.makers))
            label, value = r.choice(self.labels.get(field) or self.all_labels), self.makers[field]().replace("_", " ")
            between = r.choice([" ", " ", " ", ": ", "", ". ", " - ", "=", None])
            text = r.choice([f"{value} {label}", f"{value}{label}"]) if between is None else label + between + value
            self.label = label if between and between.endswith(" ") else ""
        elif kind < 0.55:  # value alone
            text = self.makers[r.choice(["volts", "amps", "amps", "hp", "rpm", "service_factor", "frame", "kw", "capacitor_uf", "nominal_efficiency", *self.makers])]().replace("_", " ")
        elif kind < 0.64:
            text = r.choice(self.all_labels)
        elif kind < 0.70:  # several on one line
            fields = r.sample(list(self.makers), r.randint(2, 3))
            text = " ".join(f"{r.choice(self.labels[f])} {self.makers[f]().replace('_', ' ')}" for f in fields if f in self.labels)
        elif kind < 0.78:
            text = self.digits()
        elif kind < 0.85:
            text = self.code()
        elif kind < 0.89:
            text = self.confused()
        elif kind < 0.93:
            text = self.wiring()
        elif kind < 0.96:
            text = r.choice(NOTES)
        elif kind < 0.98:
            text = self.name()
        else:
            text = "".join(r.choice(list(self.alphabet)) for _ in range(r.randint(1, 6)))
        return r.choice([text, text, text, text, text, text.upper(), text.upper(), text.title() if r.random() < 0.5 else text.lower()])

    def decisive(self):
        """What settles a replacement, alone or beside its label; codes; the signs that get confused or lost."""
        r = self.r
        kind = r.random()
        if kind < 0.72:
            field = r.choice(DECISIVE)
            value = self.makers[field]().replace("_", " ")
            if kind < 0.42:
                return value
            label = r.choice(self.labels.get(field) or self.all_labels)
            between = r.choice([" ", " ", "", ": ", ". "])
            if r.random() < 0.25:
                return value + r.choice([" ", ""]) + label
            self.label = label if between.endswith(" ") else ""
            return label + between + value
        return self.code() if kind < 0.82 else self.digits() if kind < 0.92 else self.confused()

    def general(self):
        r = self.r
        kind = r.random()
        words = [r.choice(self.words) for _ in range(1 if kind < 0.55 else r.randint(2, 4))]
        case = r.random()
        words = [w.upper() for w in words] if case < 0.4 else [w[:1].upper() + w[1:] for w in words] if case < 0.7 else words
        text = " ".join(words)
        if kind > 0.9:
            text = r.choice([f"{r.randint(0, 9999)}", f"{text} {r.randint(0, 9999)}", f"{r.randint(1, 12)}:{r.randint(0, 59):02}", f"${r.randint(0, 99)}.{r.randint(0, 99):02}", f"{r.randint(0, 999)}-{r.randint(0, 9999)}",
                             f"{r.randint(1, 99)}%", f"www.{words[0].lower()}.com", f"{r.randint(100, 999)} {text}", f"No. {r.randint(1, 99)}"])
        elif kind > 0.82:
            text = r.choice([text + "!", text + "?", text + ".", text + ",", f'"{text}"', f"({text})", text + " & " + r.choice(self.words), text.replace(" ", "-"), text + "'s", "'" + text + "'", text + ":"])
        return text

    def spelling(self, field):
        """One of the ways to print a field's label."""
        r, label = self.r, self.r.choice(self.tool_labels[field])
        if r.random() < 0.7:
            label = re.sub(r"[A-Z]+", lambda word: ACCENTS.get(word[0], word[0]), label).replace("N°", r.choice(["N°", "Nº"]))
        case = r.random()
        label = label.upper() if case < 0.62 else label.title() if case < 0.84 else label.lower() if case < 0.9 else label
        if field in UNITS and r.random() < 0.08:
            label += r.choice([" ({})", " ({})", " [{}]", ", {}", " {}", " in {}"]).format(UNITS[field])
        return label

    def labels_line(self):
        """Headings in small print: alone, in two languages, two fields in one, before their values."""
        r, kind = self.r, self.r.random()
        # ratings are more often printed than patents, and have more at stake
        field = r.choice(list(self.makers)) if r.random() < 0.72 else r.choice(list(self.tool_labels))
        if kind < 0.27:
            return self.spelling(field) + r.choice(["", "", "", "", "", ":", ".", " :", " =", " #"])
        if kind < 0.58:
            fields = r.choice(NEIGHBOURS).split("/") if r.random() < 0.4 else [field] * (3 if r.random() < 0.1 else 2)
            return r.choice([" / ", " / ", "/", "/", " | ", " - ", " ", " • "]).join(self.spelling(f) for f in fields)
        if kind < 0.68:
            words = r.choice(SENTENCES)
            return words if r.random() < 0.6 else words.title() if r.random() < 0.5 else words + " " + self.digits()
        pieces = []
        for field in r.sample(list(self.makers), r.choice([1, 1, 1, 1, 2, 2])):
            label = self.spelling(field) if r.random() < 0.8 else self.spelling(field) + "/" + self.spelling(field)
            label += r.choice(["", "", "", "", ":", "."])
            self.spans.append((sum(len(p) + 1 for p in pieces), len(label)))
            pieces += [label, self.makers[field]().replace("_", " ")]
        return " ".join(pieces)

    def line(self, share_general=0.4, share_decisive=0.0, share_labels=0.0):
        """(text, "general", "labels" or "plate", first and last but one place of every label that stands beside its value); only symbols of the
        alphabet and accented letters, micro always as U+00B5. `share_labels`: of the plate's text; `share_decisive`: of what is left of it."""
        while True:
            self.label, self.spans, kind = "", [], "general" if self.r.random() < share_general else "labels" if self.r.random() < share_labels else "plate"
            make = self.general if kind == "general" else self.labels_line if kind == "labels" else self.decisive if self.r.random() < share_decisive else self.plate
            text = make().replace("μ", "µ")
            if text != " ".join(text.split()):
                text, self.spans = " ".join(text.split()), []
            if self.label:
                self.spans = [(0, len(self.label))]
            if text and len(text) <= 44 and all(c in self.drawn for c in text) and set(plain(text)) <= self.alphabet:
                return text, kind, [(start, start + n) for start, n in self.spans]


def load_words(path):
    return [w for w in Path(path).read_text(encoding="utf8").split("\n") if w.isascii() and w.isalpha() and len(w) <= 16]
