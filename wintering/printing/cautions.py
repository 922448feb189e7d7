"""What can hurt someone at the frame, as short lines for paper, with their sources."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Caution:
    text: str
    source: str


LIFTING = Caution(
    "Lift wet pots with two people or a trolley. From the floor to a bench 60 cm up, "
    "held 40 cm from the body with a poor grip, one person's limit is 9.7 kg; less "
    "when twisting, on ice or with one hand. At 20 kg and more, always two.",
    "Revised NIOSH lifting equation, NIOSH 94-110, rev. 2021, computed here; 20 kg: "
    "common practice",
)
ELECTRICITY = Caution(
    "Heater and leads in a damp frame: only behind a residual-current device (RCD, "
    "GFCI) of 30 mA or less, never on an extension lead, 1 m clear of anything that "
    "burns; switch off before watering.",
    "ESFI, esfi.org/hs/columns/naps7.html; space heater advice citing ESFI, "
    "bitnerhenry.com/use-space-heaters-wisely; 30 mA: IEC 60364-7-705, from memory",
)
FUMES = Caution(
    "Never a heater without a flue, charcoal or a generator in the frame, even with a "
    "vent open: carbon monoxide has no smell and kills.",
    "Iowa State University AEN-204; Florida Department of Health",
)
FREEZING = Caution(
    "Never water into a frozen root ball and never pour warm water on it: shade it and "
    "wait for the thaw. A place's temperature is what its sensor says, not this sheet.",
    "common practice",
)

AT_THE_FRAME = (LIFTING, ELECTRICITY, FUMES, FREEZING)
