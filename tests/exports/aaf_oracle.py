"""Run by the oracles' Python: writes an .otio file as AAF with the open adapter, and tells what is in it as JSON.

.venv-oracles/bin/python tests/exports/aaf_oracle.py LIST.otio LIST.aaf
"""

import json
import sys

import aaf2
import opentimelineio as otio


def main(source: str, target: str) -> None:
    timeline = otio.adapters.read_from_file(source)
    otio.adapters.write_to_file(timeline, target, adapter_name="AAF", use_empty_mob_ids=True)
    with aaf2.open(target) as written:
        content = written.content
        tapes = [mob for mob in content.sourcemobs() if isinstance(mob.descriptor, aaf2.essence.TapeDescriptor)]
        slots = [slot.segment for mob in content.compositionmobs() for slot in mob.slots]
        clocks = [slot.segment for mob in content.mobs for slot in mob.slots]
        told = {
            "tapes": sorted({mob.name for mob in tapes}),
            "lengths": [each["Length"].value for each in slots if isinstance(each, aaf2.components.Sequence)],
            "drop": any(each["Drop"].value for each in clocks if isinstance(each, aaf2.components.Timecode)),
        }
    print(json.dumps(told))


if __name__ == "__main__":
    main(*sys.argv[1:])
