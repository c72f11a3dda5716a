"""One hour of invented readings as a sealed block, written from the format's description alone (src/store/block.ts and
src/store/columnCode.ts, in words), and its SHA-256. Run: python3 sealed-block.py (Python 3.9 or later, nothing else).
The readings are those of tests/store/block.test.ts: probe 1, 360 scans ten seconds apart from 2026-05-12T09:00Z.
"""
import hashlib
import zlib
from collections import Counter

NINE = 1_778_576_400_000


def varint(n):
    out = bytearray()
    while n >= 128:
        out.append(n % 128 + 128)
        n //= 128
    out.append(n)
    return bytes(out)


def fold(n):
    return 2 * n if n >= 0 else -2 * n - 1


def rice(n, k):
    ones = n >> k
    if ones < 16:
        return "1" * ones + "0" + (format(n % 2**k, f"0{k}b") if k else "")
    return "1" * 16 + format(n, "054b")


def most_frequent(numbers):
    counts = Counter(numbers)
    return min((n for n in counts if counts[n] == max(counts.values())), default=0)


def column(values):
    steps = [b - a for a, b in zip(values, values[1:])]
    usual = most_frequent(steps)
    rest = [fold(s - usual) for s in steps]
    head = varint(fold(values[0])) + varint(fold(usual))
    if not any(rest):
        return head + b"\xff"
    second = most_frequent([r for r in rest if r])
    ways = []
    for k in range(25):
        ways.append((bytes([k]), "".join(rice(r, k) for r in rest)))
    for k in range(25):
        bits = "".join("0" if r == 0 else "10" if r == second else "11" + rice(r, k) for r in rest)
        ways.append((bytes([32 + k]) + varint(second), bits))
    start, bits = min(ways, key=lambda way: 8 * len(way[0]) + len(way[1]))
    bits += "0" * (-len(bits) % 8)
    return head + start + int(bits, 2).to_bytes(len(bits) // 8, "big")


def rom_with_crc(first_seven):
    crc = 0
    for byte in first_seven:
        crc ^= byte
        for _ in range(8):
            crc = (crc >> 1) ^ 0x8C if crc & 1 else crc >> 1
    return first_seven + bytes([crc])


scans = range(360)
block = b"SWB\x01" + rom_with_crc(bytes([0x28, 1, 0x9B, 0xBB, 0x0B, 0, 0])) + bytes.fromhex("0A1B2C3D")
block += varint(1) + varint(NINE // 3_600_000) + varint(360) + varint(1) + varint(2) + b"ok"
for values in (
    [NINE + s * 10_000 for s in scans],  # utc
    [400 + (s * 7 + 1) % 23 for s in scans],  # raw
    [0 for s in scans],  # kind
    [s * 12 + 1 for s in scans],  # id
    [s for s in scans],  # scan
    [1 for s in scans],  # slotIndex
    [NINE - 77 for s in scans],  # boardToUtc
):
    code = column(values)
    block += varint(len(code)) + code
block += zlib.crc32(block).to_bytes(4, "little")
print(len(block), hashlib.sha256(block).hexdigest())
