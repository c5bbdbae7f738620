"""Options that name a thing of the job by its name, as everywhere."""

import json
from pathlib import Path

import yaml

from whywire.cli.main import main

JOBS = Path(__file__).resolve().parents[2] / "kb" / "jobs"


def test_an_option_names_a_thing_or_a_stretch_of_it(tmp_path, mine, capsys):
    """By its name alone, as everywhere; what is named where the job has it comes to the same."""
    job = tmp_path / "job.yaml"
    text = (JOBS / "scenarios" / "range-in-pipe.yaml").read_text().split("expect:")[0]
    (name,) = yaml.safe_load(text)["circuits"]
    stretch = dict(yaml.safe_load(text)["circuits"][name]["segments"][0])
    ways = {
        "by its name": {name: {"length": "45 ft"}, f"{name} segment 1": {"length": "45 ft"}},
        "where it is": {
            "circuits": {name: {"length": "45 ft", "segments": [{**stretch, "length": "45 ft"}]}}
        },
    }
    job.write_text(text + yaml.safe_dump({"options": ways}))
    main(["price", str(job), "--prices", mine, "--json"])
    options = json.loads(capsys.readouterr().out)["options"]
    assert options[0]["delta"] == options[1]["delta"] and options[0]["delta"] not in (None, "0.00")
