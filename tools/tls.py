"""An own certificate authority and a certificate for this machine, made once, so that tablets get https.

Service workers, hashing and the wake lock need a secure context. The authority's certificate is installed on
each tablet once; its key never leaves the data folder.
"""

import datetime
import ipaddress
import os
import socket
import sys
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

YEARS = 10
# Browsers refuse server certificates that run longer.
SERVER_DAYS = 397


def main(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    authority_key, authority = _authority(folder)
    if not _still_good(folder / "tls.crt"):
        _server(folder, authority_key, authority)
    sys.stdout.write(f"Install {folder / 'authority.crt'} on each tablet once, as a trusted authority.\n")


def _still_good(path: Path) -> bool:
    if not path.exists():
        return False
    left = x509.load_pem_x509_certificate(path.read_bytes()).not_valid_after_utc - _now()
    return left > datetime.timedelta(days=30)


def _now() -> datetime.datetime:
    return datetime.datetime.now(datetime.UTC)


def _authority(folder: Path):
    key_path, path = folder / "authority.key", folder / "authority.crt"
    if key_path.exists() and path.exists():
        key = serialization.load_pem_private_key(key_path.read_bytes(), None)
        return key, x509.load_pem_x509_certificate(path.read_bytes())
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Bayproof, this workshop")])
    built = _builder(name, name, key.public_key(), days=365 * YEARS)
    built = built.add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
    _keep(key_path, _private(key))
    certificate = built.sign(key, hashes.SHA256())
    _keep(path, certificate.public_bytes(serialization.Encoding.PEM), 0o644)
    return key, certificate


def _server(folder: Path, authority_key, authority) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, socket.gethostname())])
    names = [x509.DNSName(host) for host in {"localhost", socket.gethostname()}]
    names += [x509.IPAddress(address) for address in _addresses()]
    built = (
        _builder(name, authority.subject, key.public_key(), days=SERVER_DAYS)
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
    )
    _keep(folder / "tls.key", _private(key))
    certificate = built.sign(authority_key, hashes.SHA256())
    chain = b"".join(c.public_bytes(serialization.Encoding.PEM) for c in (certificate, authority))
    _keep(folder / "tls.crt", chain, 0o644)


def _addresses() -> set:
    """This machine's own addresses, without asking anybody outside."""
    found = {ipaddress.ip_address("127.0.0.1")}
    for info in socket.getaddrinfo(socket.gethostname(), None):
        found.add(ipaddress.ip_address(info[4][0].partition("%")[0]))
    return found


def _builder(subject, issuer, public_key, *, days: int) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(public_key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(_now() - datetime.timedelta(days=1))
        .not_valid_after(_now() + datetime.timedelta(days=days))
    )


def _private(key) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )


def _keep(path: Path, data: bytes, mode: int = 0o600) -> None:
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, mode)
    with os.fdopen(handle, "wb") as out:
        out.write(data)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
