"""The packages of the wheel: all rooms under host/, and the top-level protocols/ as data beside them.

Everything else of the build is in pyproject.toml, which cannot add one folder to the packages that it finds.
"""

from setuptools import find_packages, setup

setup(packages=[*find_packages("host"), "pulldrop.protocols"])
