"""Deflate made for layers: long stretches of one byte, or of a mask that repeats, between short edges.

Two distances are enough, one byte and one period of the mask, so a stretch is found by comparing an image
with itself, many bytes at a time, and nothing is searched. The bytes depend on nothing but the image: not on
the machine, nor on which library of compression it has.

Sources: RFC 1950 (zlib), RFC 1951 (deflate), both 1996; codes of least total length: Huffman 1952.
"""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.compiled import inner, kernel

_BLOCK = 1 << 16  # tokens that share one set of codes
_LONGEST = 258  # bytes in a match
_SHORTEST = 3
_END = 256  # symbol that ends a block
_SYMBOLS = 286
_DEEPEST = 15  # bits in a code
_MATCH = 512  # tokens: a byte; or _MATCH times 1 or 2 (which distance) and the length
_TOKENS = 3 * _MATCH
_ORDER = (16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15)  # RFC 1951, 3.2.7
_CHUNK = np.uint64(64)
_STRETCH, _ADLER = np.uint64(2048), np.uint64(65521)
_ONE = np.uint64(1)


def deflate(rows: ndarray, period: int) -> bytes:
    """Packed rows uint8 (rows, bytes) as a zlib stream.

    Parameters
    ----------
    rows : uint8 (rows, bytes)
        The image.
    period : int
        Bytes after which the mask repeats along a row, above 1.
    """
    flat = np.ascontiguousarray(rows).reshape(-1)[:]
    flat.flags.writeable = False  # whatever it was: kernels are compiled for the one and for the other
    buffer = np.empty(flat.size // 2 + 2048, np.uint32)
    size = _deflate(flat, period, _LENGTHS, _distance(1), _distance(period), buffer)
    return b"".join([b"\x78\x01", buffer.view(np.uint8)[:size].data, int(_adler(flat)).to_bytes(4, "big")])


def _lengths() -> ndarray:
    """Symbol, extra bits and their count for each length of a match: RFC 1951, 3.2.5."""
    table = np.zeros((_LONGEST + 1, 3), np.int64)
    symbol, length = 257, _SHORTEST
    for bits in (0,) * 8 + (1,) * 4 + (2,) * 4 + (3,) * 4 + (4,) * 4 + (5,) * 4:
        for extra in range(1 << bits):
            table[length] = symbol, extra, bits
            length = min(length + 1, _LONGEST)
        symbol += 1
    table[_LONGEST] = 285, 0, 0
    return table


def _distance(distance: int) -> tuple[int, int, int]:
    """Symbol, extra bits and their count for a distance: RFC 1951, 3.2.5."""
    if distance <= 4:
        return distance - 1, 0, 0
    bits = (distance - 1).bit_length() - 2
    return 2 * bits + ((distance - 1) >> bits), (distance - 1) & ((1 << bits) - 1), bits


_LENGTHS = _lengths()


@kernel
def _deflate(data, period, lengths, near, far, buffer):  # type: ignore[no-untyped-def]
    """Blocks of tokens, each with its own codes. Returns bytes written."""
    tokens, tally = np.empty(_BLOCK + _MATCH, np.uint16), np.empty(_TOKENS, np.int64)
    shares, depths = np.empty(_SYMBOLS, np.int64), np.empty(_SYMBOLS, np.int64)
    at, bits, held, place = np.uint64(0), np.uint64(0), np.uint64(0), np.uint64(0)
    done = False
    while not done:
        used, place = _tokenise(data, np.uint64(period), place, tokens)
        done = place == np.uint64(data.size)
        tally[:] = 0
        for n in range(used):
            tally[np.uint64(tokens[n])] += 1
        _shares(tally, lengths, shares)
        _depths(shares, depths)
        at, bits, held = _head(buffer, (at, bits, held), done, depths, (near, far))
        words = _words(depths, lengths, near, far)
        for n in range(used):
            at, bits, held = _put(buffer, at, bits, held, words[np.uint64(tokens[n])])
        at, bits, held = _put(buffer, at, bits, held, words[_END])
    buffer[at] = np.uint32(bits)
    return np.int64(at) * 4 + (np.int64(held) + 7) // 8


@inner
def _put(buffer, at, bits, held, word):  # type: ignore[no-untyped-def]
    """Append the low (word & 255) bits of word >> 8; a group of 32 is written always, and kept once full."""
    bits |= (word >> np.uint64(8)) << held
    held += word & np.uint64(255)
    buffer[at] = np.uint32(bits)
    full = held & np.uint64(32)
    return at + (full >> np.uint64(5)), bits >> full, held - full


@kernel
def _adler(data):  # type: ignore[no-untyped-def]
    """Check sum of RFC 1950, 9, in stretches short enough for sums of 32 bits."""
    low, high = np.uint64(1), np.uint64(0)
    whole = np.uint64(data.size) // _STRETCH
    for stretch in range(whole):
        total, weighed = np.uint32(0), np.uint32(0)
        for n in range(np.uint32(_STRETCH)):
            byte = np.uint32(data[stretch * _STRETCH + np.uint64(n)])
            total += byte
            weighed += byte * (np.uint32(_STRETCH) - n)
        high = (high + _STRETCH * low + np.uint64(weighed)) % _ADLER
        low = (low + np.uint64(total)) % _ADLER
    for n in range(whole * _STRETCH, np.uint64(data.size)):
        low = (low + np.uint64(data[n])) % _ADLER
        high = (high + low) % _ADLER
    return high << np.uint64(16) | low


@inner
def _alike(data, at, apart):  # type: ignore[no-untyped-def]
    """How many bytes from `at` on are those `apart` before them; fewer than three count as none."""
    end, p = np.uint64(data.size), at
    if p + np.uint64(_SHORTEST) > end or (data[p] != data[p - apart]) | (
        data[p + _ONE] != data[p + _ONE - apart]
    ):
        return np.uint64(0)
    while p + _CHUNK <= end:
        other = np.uint8(0)
        for n in range(_CHUNK):  # all at once
            other |= data[p + n] ^ data[p + n - apart]
        if other != 0:
            break
        p += _CHUNK
    while p < end and data[p] == data[p - apart]:
        p += _ONE
    return p - at


@kernel
def _tokenise(data, period, place, tokens):  # type: ignore[no-untyped-def]
    """Bytes and matches from `place` on, until a block is full; how many, and the place reached."""
    n, end = np.uint64(0), np.uint64(data.size)
    while place < end and n < np.uint64(_BLOCK):
        length, which = np.uint64(0), np.uint64(2 * _MATCH)
        if place >= period:
            length = _alike(data, place, period)
        if length < period and place > np.uint64(0):
            run = _alike(data, place, _ONE)
            if run >= length:
                length, which = run, np.uint64(_MATCH)
        if length < np.uint64(_SHORTEST):
            tokens[n] = data[place]
            n += _ONE
            place += _ONE
            continue
        length = min(length, np.uint64(_LONGEST * (_MATCH - 2)))
        place += length
        while length > np.uint64(0):
            part = min(length, np.uint64(_LONGEST))
            if np.uint64(0) < length - part < np.uint64(_SHORTEST):
                part -= np.uint64(_SHORTEST)  # or what remains would be too short for a match
            tokens[n] = which + part
            n += _ONE
            length -= part
    return n, place


@kernel
def _shares(tally, lengths, shares):  # type: ignore[no-untyped-def]
    """How often each symbol of bytes and lengths occurs; a code needs two that do."""
    for symbol in range(_SYMBOLS):
        shares[symbol] = tally[symbol] if symbol < _END else 0
    shares[_END] = 1
    for length in range(_SHORTEST, _LONGEST + 1):
        shares[lengths[length, 0]] += tally[_MATCH + length] + tally[2 * _MATCH + length]
    used = 0
    for symbol in range(_SYMBOLS):
        used += shares[symbol] > 0
    if used == 1:
        shares[0] = 1


@kernel
def _depths(shares, depths):  # type: ignore[no-untyped-def]
    """Bits in each symbol's code: the two rarest are joined until one is left, evened out if too deep."""
    order = np.empty(_SYMBOLS, np.int64)
    weight, parent = np.empty(2 * _SYMBOLS, np.int64), np.empty(2 * _SYMBOLS, np.int64)
    deepest = _DEEPEST + 1
    while deepest > _DEEPEST:
        leaves = _by_rarity(shares, order)
        for n in range(leaves):
            weight[n] = shares[order[n]]
        leaf, join = 0, leaves
        for new in range(leaves, 2 * leaves - 1):
            weight[new] = 0
            for _ in range(2):
                if leaf < leaves and (join == new or weight[leaf] <= weight[join]):
                    rarest, leaf = leaf, leaf + 1
                else:
                    rarest, join = join, join + 1
                weight[new] += weight[rarest]
                parent[rarest] = new
        depth = weight  # from the root down; weights are not needed any more
        depth[2 * leaves - 2], deepest = 0, 0
        for node in range(2 * leaves - 3, -1, -1):
            depth[node] = depth[parent[node]] + 1
            deepest = max(deepest, depth[node])
        for symbol in range(_SYMBOLS):
            depths[symbol] = 0
            shares[symbol] = (shares[symbol] + 1) // 2  # for another turn
        for n in range(leaves):
            depths[order[n]] = depth[n]


@kernel
def _by_rarity(shares, order):  # type: ignore[no-untyped-def]
    """Symbols that occur, rarest first, those alike in their order; returns how many they are."""
    n = 0
    for symbol in range(_SYMBOLS):
        if shares[symbol] > 0:
            at = n
            while at > 0 and shares[order[at - 1]] > shares[symbol]:
                order[at] = order[at - 1]
                at -= 1
            order[at] = symbol
            n += 1
    return n


@kernel
def _turned(code, bits):  # type: ignore[no-untyped-def]
    """A code with its first bit lowest."""
    turned = 0
    for _ in range(bits):
        turned = turned << 1 | code & 1
        code >>= 1
    return turned


@kernel
def _codes(depths):  # type: ignore[no-untyped-def]
    """Codes in order of their depth, then of their symbol, first bit lowest: RFC 1951, 3.2.2."""
    codes, code = np.zeros(depths.size, np.int64), 0
    for depth in range(1, _DEEPEST + 1):
        code <<= 1
        for symbol in range(depths.size):
            if depths[symbol] == depth:
                codes[symbol] = _turned(code, depth)
                code += 1
    return codes


@kernel
def _words(depths, lengths, near, far):  # type: ignore[no-untyped-def]
    """Bits and their count for every token; of the two distances, the smaller has code 0."""
    codes = _codes(depths)
    words = np.zeros(_TOKENS, np.uint64)
    for symbol in range(_END + 1):
        words[symbol] = codes[symbol] << 8 | depths[symbol]
    for which, (_, more, count) in enumerate((near, far)):
        for length in range(_SHORTEST, _LONGEST + 1):
            symbol, extra, bits = lengths[length]
            code, size = codes[symbol] | extra << depths[symbol], depths[symbol] + bits
            code |= (which | more << 1) << size
            words[_MATCH * (which + 1) + length] = code << 8 | size + 1 + count
    return words


@kernel
def _head(buffer, open_end, last, depths, distant):  # type: ignore[no-untyped-def]
    """Kind of block and depths of all codes, each depth as four bits: RFC 1951, 3.2.7."""
    at, bits, held = open_end
    near, far = distant
    distances = far[0] + 1
    for value, size in (
        (np.int64(last), 1),
        (2, 2),
        (_SYMBOLS - 257, 5),
        (distances - 1, 5),
        (len(_ORDER) - 4, 4),
    ):
        at, bits, held = _put(buffer, at, bits, held, np.uint64(value << 8 | size))
    for symbol in _ORDER:
        at, bits, held = _put(buffer, at, bits, held, np.uint64((4 if symbol <= _DEEPEST else 0) << 8 | 3))
    for symbol in range(_SYMBOLS):
        at, bits, held = _put(buffer, at, bits, held, np.uint64(_turned(depths[symbol], 4) << 8 | 4))
    for symbol in range(distances):
        used = symbol in (near[0], far[0])
        at, bits, held = _put(buffer, at, bits, held, np.uint64(_turned(np.int64(used), 4) << 8 | 4))
    return at, bits, held
