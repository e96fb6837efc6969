"""The harness and the boot loaders, compiled once."""

import pytest
from nano_on_cable import Workshop


@pytest.fixture(scope="session")
def workshop(tmp_path_factory: pytest.TempPathFactory) -> Workshop:
    return Workshop(tmp_path_factory.mktemp("workshop"))
