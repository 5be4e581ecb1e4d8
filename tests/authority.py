"""A time-stamp authority (RFC 3161) of our own, by OpenSSL."""

import subprocess
from pathlib import Path

CONFIG = """
[tsa]
default_tsa = own
[own]
serial = {folder}/serial
crypto_device = builtin
signer_cert = {folder}/signer.pem
signer_key = {folder}/signer.key
signer_digest = sha256
default_policy = 1.2.3.4.1
digests = sha256
accuracy = secs:1
ordering = no
tsa_name = no
ess_cert_id_alg = sha256
"""
EXTENSIONS = "extendedKeyUsage = critical,timeStamping\nkeyUsage = critical,digitalSignature\n"


class Authority:
    """Answers requests, as one at an address would; `root` is the PEM that it goes back to."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        (folder / "tsa.cnf").write_text(CONFIG.format(folder=folder))
        (folder / "extensions").write_text(EXTENSIONS)
        (folder / "serial").write_text("01\n")
        root = (folder / "root.key", folder / "root.pem")
        openssl("req", "-x509", "-newkey", "rsa:2048", "-nodes", "-subj", "/CN=Own Root",
                "-days", 30, "-keyout", root[0], "-out", root[1])  # fmt: skip
        openssl("req", "-newkey", "rsa:2048", "-nodes", "-subj", "/CN=Own Stamp",
                "-keyout", folder / "signer.key", "-out", folder / "signer.csr")  # fmt: skip
        openssl("x509", "-req", "-in", folder / "signer.csr", "-CA", root[1], "-CAkey", root[0],
                "-CAcreateserial", "-days", 30, "-extfile", folder / "extensions",
                "-out", folder / "signer.pem")  # fmt: skip
        self.root = root[1].read_bytes()

    def answer(self, asked: bytes) -> bytes:
        (self._folder / "asked.tsq").write_bytes(asked)
        return openssl("ts", "-reply", "-config", self._folder / "tsa.cnf", "-queryfile",
                       self._folder / "asked.tsq")  # fmt: skip


def openssl(*arguments: object, stdin: bytes = b"") -> bytes:
    done = subprocess.run(
        ["openssl", *map(str, arguments)], input=stdin, capture_output=True, check=False
    )
    assert done.returncode == 0, done.stderr.decode()
    return done.stdout
