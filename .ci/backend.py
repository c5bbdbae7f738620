"""setuptools' build backend; what belongs into the sdist beside the packages stands in
.ci/sdist.in.

The top level of the project holds no MANIFEST.in, and the tests are no package: without this an
sdist could not be tested.
"""

from setuptools.build_meta import *  # noqa: F403
from setuptools.command.egg_info import manifest_maker

manifest_maker.template = ".ci/sdist.in"
