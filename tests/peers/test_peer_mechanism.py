# SPDX-License-Identifier: MIT
"""What happens where the peers cannot be had, and where one of them fails."""

import peers
import pytest


def test_a_failed_installation_skips_with_its_reason(monkeypatch, tmp_path):
    monkeypatch.setattr(peers, "ROOT", tmp_path)
    monkeypatch.setattr(peers, "peer_folder", peers.peer_folder.__wrapped__)
    monkeypatch.setenv("PIP_NO_INDEX", "1")
    with pytest.raises(pytest.skip.Exception, match="could not be installed: ERROR: No matching"):
        peers.ask("ask_pyfe3d.py", {})
    assert [path.name for path in (tmp_path / "build/peers").iterdir()] == ["lock"]


def test_a_peer_that_fails_fails_the_test():
    with pytest.raises(AssertionError, match="KeyError: 'points'"):
        peers.ask("ask_pyfe3d.py", {})


def test_a_peer_that_does_not_load_skips_with_its_reason(monkeypatch, tmp_path):
    (tmp_path / "pyfe3d.py").write_text("raise ImportError('no such processor')")
    monkeypatch.setattr(peers, "peer_folder", lambda: tmp_path)
    with pytest.raises(pytest.skip.Exception, match="pyfe3d does not load: no such processor"):
        peers.ask("ask_pyfe3d.py", {})
