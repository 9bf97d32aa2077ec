"""Every statement and every form of every clause: what is written, and the parts that come of it."""

from __future__ import annotations

import pytest

from loomwright.syntax.forms import CLAUSES, DEVICES, STATEMENTS

from .saying import clause, head, read, said, sound

STATEMENT_CASES = """
fitout "Orchard Bees"                             | - | title=Orchard Bees
include "parts/workshop.fitout"                   | - | path=parts/workshop.fitout
practice                                          | - |
site                                              | - |
part battery agm-75                               | agm-75 | kind=battery
place engine-bay                                  | engine-bay |
structure chassis                                 | chassis |
earthpoint lid on skin in toolbox                 | lid | structure=skin, place=toolbox
feed main from crank.pos to dcdc.in               | main | from=crank.pos, to=dcdc.in
earth back from common to lid                     | back | from=common, to=lid
circuit pump from ways.3 to syrup-pump            | pump | from=ways.3, to=syrup-pump
signal sense from ignition.pos to tow.1-a         | sense | from=ignition.pos, to=tow.1-a
multicore tail                                    | tail |
loom spine                                        | spine |
mode night                                        | night |
mode night "parked, dark"                         | night | says=parked, dark
day harvest                                       | harvest |
concession no-sleeve on main                      | - | rule=no-sleeve, on=main
readings 2026-11-20 by "RM" in night              | - | date=2026-11-20, by=RM, mode=night
"""

CLAUSE_CASES = """
fitout | stage as-found | value=as-found
fitout | job "2026-118" | value=2026-118
fitout | vehicle "single-cab" | value=single-cab
fitout | customer "Orchard Bees" | value=Orchard Bees
fitout | drawn 2026-11-16 | date=2026-11-16
fitout | drawn 2026-11-16 by "RM" | date=2026-11-16, by=RM
fitout | system 24 V | value=24 voltage
fitout | limits lithium-beside-people | value=lithium-beside-people
fitout | note "a; b, {c} # d" | value=a; b, {c} # d
place | ambient 60 degC | value=60 temperature
place | ambient -10 °C to 60 degC | low=-10 temperature, high=60 temperature
place | usually 14 degC to 34 degC | low=14 temperature, high=34 temperature
place | hazards heat | values=[heat]
place | hazards heat, brake-line, sun | values=[heat; brake-line; sun]
place | inside |
place | outside |
place | habitable |
place | opening gland | value=gland
place | volume 200 L | value=0.2 volume
place | vents 80 cm2 | value=0.008 area
place | note "n" | value=n
structure | metal aluminium | value=aluminium
structure | bonded crank.neg | value=crank.neg
structure | mount rubber | value=rubber
structure | resistance 0.5 mohm | value=0.0005 resistance
structure | note "n" | value=n
battery | chemistry lead-acid | value=lead-acid
battery | capacity 120 Ah | value=432000 charge
battery | internal 7 mΩ | value=0.007 resistance
battery | discharge 100 A max | value=100 current
battery | charge 60 A max | value=60 current
battery | cranking 680 A | value=680 current
battery | vented |
battery | sealed |
battery | reserve 20 % | value=0.2 ratio
battery | reserve 0 % | value=0 ratio
battery | serves house | value=house
battery | charges-from 0 degC | value=0 temperature
battery | bought 2026-03-02 | value=2026-03-02
battery | held-down |
battery | held-down none | value=none
battery | post-sensor |
place | flexes |
earthpoint | safety-bolt |
battery | post-sensor |
alternator | rated 110 A | value=110 current
alternator | holds 14.2 V | value=14.2 voltage
alternator | regulation smart | value=smart
supply | holds 13.8 V | value=13.8 voltage
supply | rated 10 A | value=10 current
supply | live ignition | value=ignition
supply | taken-from brakes | value=brakes
charger | input 45 A max | value=45 current
charger | cuts-out 11 V | value=11 voltage
charger | starts 13.2 V | value=13.2 voltage
charger | stops 12.7 V | value=12.7 voltage
charger | output 30 A at 14.4 V | amps=30 current, volts=14.4 voltage
charger | solar 32 V max 12 A | volts=32 voltage, amps=12 current
charger | efficiency 92 % | value=0.92 ratio
charger | suits lifepo4, agm | values=[lifepo4; agm]
charger | isolated |
solar | peak 160 W | value=160 power
solar | open 22.4 V | value=22.4 voltage
solar | short 9.1 A | value=9.1 current
solar | at-peak 18.6 V | value=18.6 voltage
solar | coefficient -0.28 %/K | value=-0.0028 temperature-coefficient
solar | count 2 series | number=2, arrangement=series
solar | count 2 parallel | number=2, arrangement=parallel
solar | count 2 | number=2
inverter | rated 2 kW | value=2000 power
inverter | surge 4000 W for 5 s | value=4000 power, time=5 time
inverter | efficiency 88 % | value=0.88 ratio
inverter | idle 0.8 A | value=0.8 current
inverter | output 230 V | value=230 voltage
hub | rated 100 A | value=100 current
hub | way 1 blade 15 A switched | number=1, kind=blade, rating=15 current, control=switched
hub | way 2 electronic 10 A dimmed | number=2, kind=electronic, rating=10 current, control=dimmed
hub | way 3 breaker-auto 20 A | number=3, kind=breaker-auto, rating=20 current
hub | way 4 breaker switched | number=4, kind=breaker, control=switched
hub | way 5 none | number=5, kind=none
hub | way 6 unknown | number=6, kind=unknown
hub | negatives 8 x M4 | number=8, thread=M4
hub | negatives none | value=none
busbar | studs 6 x M8 | number=6, thread=M8
busbar | rated 250 A | value=250 current
isolator | rated 150 A | value=150 current
isolator | resistance 0.2 mohm | value=0.0002 resistance
switch | rated 20 A | value=20 current
switch | resistance 5 mohm | value=0.005 resistance
shunt | rated 500 A | value=500 current
shunt | resistance 0.1 mohm | value=0.0001 resistance
relay | rated 40 A | value=40 current
relay | resistance 3 mohm | value=0.003 resistance
relay | closes 13.3 V | value=13.3 voltage
relay | opens 12.8 V | value=12.8 voltage
relay | coil 150 mA | value=0.15 current
plug | poles 7 | value=7
plug | rated 30 A | value=30 current
plug | live a | value=a
plug | resistance 2 mohm | value=0.002 resistance
splice | crimped |
splice | soldered |
splice | twisted |
splice | sealed |
splice | taped |
splice | bare |
load | draws 45 W | value=45 power
load | draws 3.2 A | value=3.2 current
load | draws 2.2 ohm | value=2.2 resistance
load | duty 35 % | value=0.35 ratio
load | duty 30 % at 20 degC | items=[share=0.3 ratio, at=20 temperature]
load | duty 0 % at 5 degC, 60 % at 40 °C | items=[share=0 ratio, at=5 temperature; share=0.6 ratio, at=40 temperature]
load | surge 9 A for 0.4 s | value=9 current, time=0.4 time
load | cuts-out 10.8 V | value=10.8 voltage
load | standby 20 mA | value=0.02 current
load | critical |
sensor | measures temperature | value=temperature
sensor | draws 5 mA | value=0.005 current
earthpoint | stud M8 | thread=M8
earthpoint | surface painted | value=painted
earthpoint | sealed |
earthpoint | note "n" | value=n
feed | cable 16 mm2 | size=area 16
feed | cable 16 mm² red | size=area 16, colour=red
feed | cable twin 4 mm2 tinned black/red 105 degC | twin=twin, size=area 4, tinned=tinned, colour=black/red, class=105 temperature
feed | cable twin 3 mm auto | twin=twin, size=auto 3
feed | cable 6mm auto red 90 degC | size=auto 6, colour=red, class=90 temperature
feed | cable 8 B&S red 105 degC | size=bs 8, colour=red, class=105 temperature
feed | cable 2/0 AWG | size=awg 2/0
feed | cable 00 AWG | size=awg 2/0
feed | cable auto | size=auto
feed | cable twin auto red 105 degC | twin=twin, size=auto, colour=red, class=105 temperature
feed | cable unknown | value=unknown
feed | along engine-bay 0.7 m, firewall, toolbox 400mm | stretches=[place=engine-bay, length=0.7 length; place=firewall; place=toolbox, length=0.4 length]
feed | along unknown | value=unknown
feed | fuse strip 60 A at 0.15m | kind=strip, rating=60 current, at=0.15 length
feed | fuse strip 60 A at 0 m from house.pos in toolbox | kind=strip, rating=60 current, at=0 length, from=house.pos, in=toolbox
feed | fuse class-t 200 A at 0.5 ft in toolbox | kind=class-t, rating=200 current, at=0.1524 length, in=toolbox
feed | fuse auto | value=auto
feed | fuse auto at 0.1 m | rating=auto, at=0.1 length
feed | fuse strip auto at 0.1 m | kind=strip, rating=auto, at=0.1 length
feed | ends lug auto M8 | fitting=lug, lug=auto, stud=M8
hub | way 3 blade auto switched | number=3, kind=blade, rating=auto, control=switched
feed | fuse none | value=none
feed | fuse unknown | value=unknown
feed | joint at 1.2 m | at=1.2 length
feed | joint at 1.2 m soldered taped | at=1.2 length, made=soldered, cover=taped
feed | joint unknown | value=unknown
feed | sleeve split-tube | value=split-tube
feed | sleeve none | value=none
feed | sleeve none in firewall | value=none, in=firewall
feed | clips 0.25 m | value=0.25 length
feed | clips none | value=none
feed | clips none in toolbox | value=none, in=toolbox
feed | clips 150 mm in rail-inside | value=0.15 length, in=rail-inside
feed | end crank.pos lug 8 B&S M8 crimped sealed tight | at=crank.pos, fitting=lug, lug=bs 8, stud=M8, made=crimped, cover=sealed, held=tight
feed | end box.in blade-terminal crimped taped loose | at=box.in, fitting=blade-terminal, made=crimped, cover=taped, held=loose
feed | end lid lug 16 mm2 M10 | at=lid, fitting=lug, lug=area 16, stud=M10
feed | end a.pos lug 8 B&S M8 with other tight | at=a.pos, fitting=lug, lug=bs 8, stud=M8, with=other, held=tight
feed | end fuse lug 8 B&S M5 | at=fuse, fitting=lug, lug=bs 8, stud=M5
feed | end a.pos lug 10 mm2 M6 with fan-feed crimped | at=a.pos, fitting=lug, lug=area 10, stud=M6, with=fan-feed, made=crimped
feed | end a.pos ferrule | at=a.pos, fitting=ferrule
feed | end a.pos plug loose | at=a.pos, fitting=plug, held=loose
feed | end a.pos unknown | at=a.pos, value=unknown
feed | end a.pos none | at=a.pos, value=none
feed | ends twisted taped | made=twisted, cover=taped
feed | ends blade-terminal crimped sealed tight | fitting=blade-terminal, made=crimped, cover=sealed, held=tight
feed | ends unknown | value=unknown
feed | loom spine | value=spine
feed | core tail "white" | multicore=tail, colour=white
feed | core tail | multicore=tail
feed | slack 80 mm in firewall | value=0.08 length, in=firewall
feed | conductor stranded copper vehicle-cable | strands=stranded, metal=copper, use=vehicle-cable
feed | conductor copper-clad | metal=copper-clad
feed | conductor building-cable solid | use=building-cable, strands=solid
feed | conductor unknown | value=unknown
feed | diameter 9.5 mm | value=0.0095 length
feed | bend 90 mm | value=0.09 length
feed | bend none | value=none
feed | end crank.pos lug 8 B&S M8 crimped sealed tight clip 120 mm | at=crank.pos, fitting=lug, lug=bs 8, stud=M8, made=crimped, cover=sealed, held=tight, clip=0.12 length
feed | ends clip 0.1 m from-below | clip=0.1 length, entry=from-below
feed | end box.in looped | at=box.in, entry=looped
feed | label "MAIN" | value=MAIN
feed | clearance 0 mm to wheel | value=0 length, to=wheel
feed | maker |
feed | note "n" | value=n
feed | order "C-1" | value=C-1
earth | cable 16 mm2 black | size=area 16, colour=black
signal | cable 1 mm2 | size=area 1
circuit | return box.neg | value=box.neg
practice | ends crimped sealed tight | made=crimped, cover=sealed, held=tight
practice | fuse mini 10 A at 50 mm | kind=mini, rating=10 current, at=0.05 length
multicore | cable 7 x 1.5 mm2 tinned 105 degC | number=7, size=area 1.5, tinned=tinned, class=105 temperature
multicore | along tail 2 m | stretches=[place=tail, length=2 length]
multicore | sleeve conduit | value=conduit
multicore | clips 0.3 m | value=0.3 length
multicore | loom spine | value=spine
multicore | slack 80 mm in tail | value=0.08 length, in=tail
multicore | clearance 40 mm to exhaust | value=0.04 length, to=exhaust
multicore | conductor stranded copper | strands=stranded, metal=copper
multicore | diameter 14 mm | value=0.014 length
multicore | bend 150 mm | value=0.15 length
multicore | label "L" | value=L
multicore | maker |
multicore | note "n" | value=n
multicore | order "C-7" | value=C-7
loom | sleeve braid | value=braid
loom | clips 0.2 m | value=0.2 length
loom | label "L" | value=L
loom | note "n" | value=n
mode | engine cranking | value=cranking
mode | sun full | value=full
mode | sun none | value=none
mode | sun 600 W/m2 | value=600 irradiance
mode | sun 40 % | value=0.4 ratio
mode | mains on | value=on
mode | charge 60 % | value=0.6 ratio
mode | closed house-iso, link | values=[house-iso; link]
mode | open link | values=[link]
mode | on incubator, work-lights 50 %, tools 800 W, pump 3 A | items=[name=incubator; name=work-lights, value=0.5 ratio; name=tools, value=800 power; name=pump, value=3 current]
mode | note "n" | value=n
day | driving 3 h | value=10800 time
day | charge 30 min | value=1800 time
site | latitude -33.4 deg | value=-33.4 angle
site | longitude 149.1° | value=149.1 angle
site | month november | value=november
site | tilt 0 deg | value=0 angle
site | facing 90 deg | value=90 angle
site | sunshine 45 % | value=0.45 ratio
site | coldest -6 degC | value=-6 temperature
site | note "n" | value=n
concession | reason "dry" | value=dry
concession | by "RM" | value=RM
concession | until 2027-03-31 | value=2027-03-31
readings | volts house.pos to house.neg 12.6 V | from=house.pos, to=house.neg, value=12.6 voltage
readings | ohms lid to crank.neg 3 mohm | from=lid, to=crank.neg, value=0.003 resistance
readings | amps main -18 A | run=main, value=-18 current
readings | celsius box.in 71 degC | at=box.in, value=71 temperature
readings | note "n" | value=n
"""

COMMON_CASES = """
terminals trickle, 1-a, 2 | values=[trickle; 1-a; 2]
stud M8 | thread=M8
stud pos M8 | terminal=pos, thread=M8
stud 2 M6 | terminal=2, thread=M6
note "n" | value=n
order "C-0815" | value=C-0815
count 4 | number=4
spaced 0.6 m | value=0.6 length
maker |
"""


def rows(table: str) -> list[tuple[str, ...]]:
    return [
        tuple(cell.strip() for cell in line.split(" | "))
        for line in table.replace("|\n", "| \n").strip("\n").split("\n")
    ]


@pytest.mark.parametrize(("text", "name", "parts"), rows(STATEMENT_CASES))
def test_a_head_gives_its_name_and_parts(text: str, name: str, parts: str) -> None:
    (statement,) = sound(text)
    assert statement.kind.text == text.split()[0]
    assert (statement.name.text if statement.name else "-") == name
    assert said(statement.head) == parts
    assert statement.head_span.text == statement.span.text == text


@pytest.mark.parametrize("kind", DEVICES)
def test_a_device_stands_in_a_place_and_may_take_over_a_part(kind: str) -> None:
    plain, taken = sound(f"{kind} one in toolbox {{ }}\n{kind} two in toolbox is three")
    assert said(plain.head) == "place=toolbox"
    assert said(taken.head) == "place=toolbox, part=three"


@pytest.mark.parametrize("kind", DEVICES)
def test_a_part_takes_the_clauses_of_its_kind(kind: str) -> None:
    for form in CLAUSES[kind].values():
        (statement,) = sound(f"part {kind} x {{ {form.example} }}")
        assert statement.kind.text == "part"
        assert statement.clauses[0].keyword.text == form.keyword


@pytest.mark.parametrize(("kind", "text", "parts"), rows(CLAUSE_CASES))
def test_a_clause_gives_its_parts(kind: str, text: str, parts: str) -> None:
    found = clause(kind, text)
    assert found.keyword.text == text.split()[0]
    assert said(found.parts) == parts
    assert found.span.text == text


@pytest.mark.parametrize("kind", DEVICES)
@pytest.mark.parametrize(("text", "parts"), rows(COMMON_CASES))
def test_every_device_takes_the_common_clauses(kind: str, text: str, parts: str) -> None:
    assert said(clause(kind, text).parts) == parts


def test_the_table_above_covers_every_clause_of_every_statement() -> None:
    covered = {(kind, text.split()[0]) for kind, text, _ in rows(CLAUSE_CASES)}
    common = {text.split()[0] for text, _ in rows(COMMON_CASES)}
    for kind, forms in CLAUSES.items():
        like = "feed" if kind in ("earth", "circuit", "signal", "practice") else kind
        for keyword in forms:
            assert (kind in DEVICES and keyword in common) or {(kind, keyword), (like, keyword)} & covered, (
                kind,
                keyword,
            )
    heads = {text.split()[0] for text, _, _ in rows(STATEMENT_CASES)} | set(DEVICES)
    assert heads == set(STATEMENTS)


@pytest.mark.parametrize("kind", CLAUSES)
def test_unknown_and_none_stand_for_the_value_of_every_clause_that_can_be_unknown(kind: str) -> None:
    for form in CLAUSES[kind].values():
        if form.flag:
            continue
        assert said(clause(kind, f"{form.keyword} none").parts) == "value=none"
        if not form.settled:
            assert said(clause(kind, f"{form.keyword} unknown").parts) == "value=unknown"


@pytest.mark.parametrize("kind", CLAUSES)
def test_what_must_be_settled_is_never_unknown(kind: str) -> None:
    """The message says what to find out instead."""
    for form in CLAUSES[kind].values():
        if form.settled:
            (problem,) = read(f"{head(kind)} {{ {form.keyword} unknown }}").problems
            assert problem.message == f"'{form.keyword}' can't be unknown"
            assert problem.hint == form.settled
