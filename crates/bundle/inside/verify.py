#!/usr/bin/env python3
"""Verifies the record of one fire watch. Run it in the unzipped folder, without arguments:

    python3 verify.py

Ends with 0 if all holds, else with 1. Digests, chains, the log and its heads are checked for every
line with Python's standard library alone. Signatures are checked for every line if the package
`cryptography` is there, else by `openssl` for a sample that is stated. README.md says what each
file is and how to take every step by hand.
"""
import base64
import bisect
import hashlib
import json
import os
import re
import subprocess
import sys
import tempfile
import unicodedata
from collections import deque

SAMPLE = 400  # Signatures that are checked when openssl has to be started for each.
LINE_BYTES_MAX = 8192
ZEROS = "0" * 64
HEX = re.compile(r"[0-9a-f]{64}")
TEXT_ID = re.compile(r"[a-z0-9._-]{1,64}")
BLOB_MEMBERS = "blob card instructions photo plan route sheet signature terms".split()
LINE = {"v", "kind", "dev", "watch", "seq", "prev", "who", "auth", "clk", "head", "app", "body", "priv"}
OPTIONAL = {"head", "priv"}
ENTRY = {"dev", "e", "i", "rx", "rxe", "seq", "sig", "t", "v", "watch"}
CLOSE = {"i", "next", "rx", "rxe", "t", "v", "vkey"}


class Fault(Exception):
    """Something does not hold."""


def need(holds, says):
    if not holds:
        raise Fault(says)


def sha(data):
    return hashlib.sha256(data).digest()


def canonical(data):
    """Reads one canonical JSON line: any other spelling of the same value is a fault."""
    need(len(data) <= LINE_BYTES_MAX, "a line is too long")

    def pairs(items):
        need(len(items) == len({key for key, _ in items}), "a key stands twice")
        return dict(items)

    def refuse(_):
        raise Fault("a number is no integer")

    try:
        text = data.decode("utf-8")
        value = json.loads(text, object_pairs_hook=pairs, parse_float=refuse, parse_constant=refuse)
    except (ValueError, RecursionError) as error:
        raise Fault("not JSON: %s" % error)
    check_value(value)
    again = json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    need(again == text, "not in canonical form")
    return value


def check_value(value):
    if isinstance(value, str):
        need(not re.search("[\x00-\x1f\x7f]", value), "a control character")
        need(unicodedata.is_normalized("NFC", value), "a text is not in NFC")
    elif isinstance(value, bool) or value is None:
        pass
    elif isinstance(value, int):
        need(abs(value) < 2**53, "a number is too large")
    elif isinstance(value, list):
        for item in value:
            check_value(item)
    else:
        for key, item in value.items():
            need(re.fullmatch("[ -~]*", key), "a key is not plain ASCII")
            check_value(item)


def b64(text, length=None):
    """Strict base64: one spelling, the length that is asked for."""
    try:
        data = base64.b64decode(text, validate=True)
    except ValueError:
        raise Fault("not base64: %r" % text)
    need(base64.b64encode(data).decode() == text, "a second spelling of base64: %r" % text)
    need(length in (None, len(data)), "base64 of the wrong length: %r" % text)
    return data


def whole(value, low=0):
    need(type(value) is int and value >= low, "expected a whole number")
    return value


def digest(value):
    need(isinstance(value, str) and HEX.fullmatch(value), "expected 64 hex digits")
    return value


class Tree:
    """The right edge of an RFC 6962 tree: full nodes, largest first."""

    def __init__(self):
        self.size, self.nodes = 0, []

    def push(self, node, count=1):
        need(count & (count - 1) == 0 and self.size % count == 0, "a block does not fit its place")
        level = count
        while self.size & level:
            node = sha(b"\1" + self.nodes.pop() + node)
            level *= 2
        self.nodes.append(node)
        self.size += count

    def root(self):
        if not self.nodes:
            return sha(b"")
        root = self.nodes[-1]
        for left in reversed(self.nodes[:-1]):
            root = sha(b"\1" + left + root)
        return root


class Signatures:
    """Ed25519, by whatever this machine has."""

    def __init__(self, sampling=True):
        self.jobs = []
        self.sampling = sampling

    def add(self, where, key, data, signature):
        self.jobs.append((where, key, data, signature))

    def check(self):
        try:
            from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
        except ImportError:
            return self.check_by_openssl()
        for where, key, data, signature in self.jobs:
            try:
                Ed25519PublicKey.from_public_bytes(key).verify(signature, data)
            except Exception:
                raise Fault("%s: the signature does not fit" % where)
        return "%d signatures by the package cryptography" % len(self.jobs)

    def check_by_openssl(self):
        step = max(1, len(self.jobs) // SAMPLE) if self.sampling else 1
        sample = self.jobs[::step]
        with tempfile.TemporaryDirectory() as folder:
            paths = [os.path.join(folder, name) for name in ("key", "data", "signature")]
            for where, key, data, signature in sample:
                der = bytes.fromhex("302a300506032b6570032100") + key
                for path, content in zip(paths, (der, data, signature)):
                    with open(path, "wb") as file:
                        file.write(content)
                command = ["openssl", "pkeyutl", "-verify", "-pubin", "-keyform", "DER"]
                command += ["-inkey", paths[0], "-rawin", "-in", paths[1], "-sigfile", paths[2]]
                try:
                    done = subprocess.run(command, capture_output=True)
                except OSError:
                    raise Fault("neither the package cryptography nor openssl is here")
                need(done.returncode == 0, "%s: the signature does not fit" % where)
        return "%d of %d signatures by openssl" % (len(sample), len(self.jobs))


class Bundle:
    """The files of the unzipped folder by name."""

    def __init__(self, files):
        self.files = files
        self.signatures = Signatures()
        self.trusted, self.revoked = set(), set()
        self.heads = {}  # origin -> size -> root
        self.logs, self.used = {}, {}  # origin -> log, origin -> sizes of heads that something needs
        self.erased_lines, self.erased_blobs = set(), set()
        self.blobs, self.signers = set(), set()
        self.sealed = False
        self.after_seal = 0
        self.missing_private = []
        self.kept = set()
        self.lines = 0
        self.open_heads = 0

    def lines_of(self, name):
        data = self.files.get(name, b"")
        need(data == b"" or data.endswith(b"\n"), "%s: does not end with a newline" % name)
        return data.split(b"\n")[:-1]

    def rows(self, name, members):
        for number, data in enumerate(self.lines_of(name), 1):
            try:
                row = canonical(data)
                need(isinstance(row, dict) and set(row) == set(members), "strange members")
            except Fault as fault:
                raise Fault("%s, line %d: %s" % (name, number, fault))
            yield "%s, line %d" % (name, number), row

    def verify(self):
        self.check_manifest()
        (_, about), *more = self.rows("about.json", ("server", "v", "watch"))
        need(not more and about["v"] == 1, "about.json: not of version 1")
        self.server, self.watch = digest(about["server"]), about["watch"]
        self.keys = {}
        for where, row in self.rows("keys.jsonl", ("dev", "key")):
            key = b64(row["key"], 32)
            need(sha(key).hex() == row["dev"], "%s: the key is not that of the device" % where)
            need(not self.keys or max(self.keys) < row["dev"], "%s: out of order" % where)
            self.keys[row["dev"]] = key
        self.chains, self.private = {}, {}
        for name in self.files:
            folder, _, file = name.rpartition("/")
            if folder == "chains":
                self.chains[file[:-6]] = Chain(name, self.lines_of(name))
            if folder == "private":
                self.private[file[:-6]] = deque(self.lines_of(name))
        self.org = deque(self.lines_of("org.jsonl"))
        logs = sorted({name.split("/")[1] for name in self.files if name.startswith("logs/")})
        need(logs == [str(n) for n in range(1, len(logs) + 1)] and logs, "logs are missing")
        self.servers = {self.server}
        before = None
        for number in logs:
            before = self.verify_log("logs/%s/" % number, before)
        for origin, log in self.logs.items():
            need(log["older"] <= self.used[origin], "%sheads.jsonl: a head that nothing needs" % log["folder"])
        self.check_ends()
        return self.signatures.check()

    def check_manifest(self):
        listed = []
        for where, row in self.rows("manifest.jsonl", ("bytes", "name", "sha256")):
            data = self.files.get(row["name"])
            need(data is not None, "%s: %r is missing" % (where, row["name"]))
            need(len(data) == row["bytes"], "%s: wrong length" % row["name"])
            need(sha(data).hex() == row["sha256"], "%s: wrong digest" % row["name"])
            listed.append(row["name"])
        need(listed == sorted(set(listed)), "manifest.jsonl: out of order")
        extra = set(self.files) - set(listed) - {"manifest.jsonl"}
        need(not extra, "files that the manifest does not list: %s" % sorted(extra))
        for name in "README.md about.json keys.jsonl org.jsonl verify.py".split():
            need(name in self.files, "%s is missing" % name)
        for name in self.files:
            if name.startswith("blobs/"):
                need(sha(self.files[name]).hex() == name[6:], "%s: not its digest" % name)
            elif name.startswith("private/"):
                need("chains" + name[7:] in self.files, "%s: no such chain" % name)
            else:
                need(re.fullmatch(
                    r"README\.md|verify\.py|about\.json|(keys|manifest|org)\.jsonl"
                    r"|chains/[0-9a-f]{64}\.jsonl"
                    r"|logs/[1-9]/(head\.note|heads\.jsonl|log\.jsonl|log\.vkey)"
                    r"|logs/[1-9]/stamps/(0|[1-9][0-9]*)\.(note|tsr)", name),
                    "%s has no place in a bundle" % name)

    def verify_log(self, folder, before):
        vkey, origin, key = self.read_vkey(folder)
        if before and before["close"]:
            need(before["close"]["vkey"] == vkey, "%slog.vkey: not the log that was named" % folder)
        size, root = self.read_head(folder + "head.note", origin, key)
        older, last = {}, 0
        for where, row in self.rows(folder + "heads.jsonl", ("root", "size")):
            need(last < whole(row["size"]) < size, "%s: out of order" % where)
            last = row["size"]
            older[last] = bytes.fromhex(digest(row["root"]))
        heads = self.heads[origin] = dict(older)
        heads[size] = root
        self.used[origin] = self.read_stamps(folder, origin, key, heads)
        log = {"origin": origin, "close": None, "rx": before["rx"] if before else None}
        log.update(older=set(older), folder=folder, size=size)
        self.logs[origin] = log
        tree, sizes, block = Tree(), sorted(heads), None
        for number, data in enumerate(self.lines_of(folder + "log.jsonl"), 1):
            where = "%slog.jsonl, line %d" % (folder, number)
            try:
                row = canonical(data)
                need(row["i"] == tree.size, "stands in the wrong place")
                need(tree.size not in older or older[tree.size] == tree.root(), "a wrong older head")
                need(not log["close"], "the log was closed before")
                if row["t"] == "others":
                    block = self.take_block(row, tree, sizes, block)
                    continue
                block = None
                tree.push(sha(b"\0" + data))
                need(row["v"] == 1, "a version that is not known")
                need(whole(row["rxe"]) >= 0, "a negative error")
                need(log["rx"] is None or row["rx"] >= log["rx"], "received before the one above")
                log["rx"] = row["rx"]
                if row["t"] == "close":
                    need(set(row) == CLOSE and row["vkey"].startswith(row["next"] + "+"), "a strange leaf")
                    log["close"] = row
                else:
                    need(set(row) == ENTRY and row["t"] == "entry", "a strange leaf")
                    self.take_leaf(row, log)
            except Fault as fault:
                raise Fault("%s: %s" % (where, fault))
            except (KeyError, TypeError, AttributeError) as error:
                raise Fault("%s: not in the form of this file: %r" % (where, error))
        need(tree.size == size and tree.root() == root, "%slog.jsonl: not the root of its head" % folder)
        self.head = "%s, %d leaves, root %s" % (origin, size, root.hex())
        return log

    def read_vkey(self, folder):
        (line,) = self.lines_of(folder + "log.vkey") or [b""]
        vkey = line.decode("utf-8", "replace")
        origin, key_id, data = (vkey.split("+", 2) + ["", ""])[:3]
        key = b64(data, 33)
        ident = sha(origin.encode() + b"\n" + key)[:4].hex()
        need(key[0] == 1 and key_id == ident and origin and not re.search(r"\s", origin), "a strange log.vkey")
        return vkey, origin, key[1:]

    def read_head(self, name, origin, key):
        text = self.files.get(name, b"").decode("utf-8", "replace")
        need(not re.search("[\x00-\x09\x0b-\x1f]", text), "%s: a control character" % name)
        body, blank, tail = text.rpartition("\n\n")
        need(blank and tail.endswith("\n"), "%s: no signature" % name)
        lines = body.split("\n")
        need(len(lines) == 3 and lines[0] == origin, "%s: not a head of this log" % name)
        need(re.fullmatch("0|[1-9][0-9]*", lines[1]), "%s: a strange size" % name)
        ident, signed = sha(origin.encode() + b"\n\1" + key)[:4], False
        for line in tail[:-1].split("\n"):
            match = re.fullmatch("— ([^ +]+) ([^ ]+)", line)
            need(match, "%s: a strange signature" % name)
            data = b64(match.group(2))
            need(len(data) > 4, "%s: a strange signature" % name)
            if match.group(1) == origin and data[:4] == ident:
                need(len(data) == 68, "%s: a strange signature" % name)
                self.signatures.add(name, key, (body + "\n").encode(), data[4:])
                signed = True
        need(signed, "%s: not signed by the log" % name)
        return int(lines[1]), b64(lines[2], 32)

    def read_stamps(self, folder, origin, key, heads):
        used = set()
        for name in self.files:
            match = re.fullmatch(re.escape(folder) + r"stamps/([0-9]+)\.(note|tsr)", name)
            if not match:
                continue
            other = name[:-4] + "tsr" if name.endswith("note") else name[:-3] + "note"
            need(other in self.files, "%s is missing" % other)
            if name.endswith("note"):
                size, root = self.read_head(name, origin, key)
                need(size == int(match.group(1)) and heads.get(size) == root, "%s: not a head here" % name)
                stamped = b"\x04\x20" + sha(self.files[name])
                need(stamped in self.files[other], "%s: not a stamp on the head beside it" % other)
                used.add(size)
        return used

    def take_block(self, row, tree, sizes, before):
        need(set(row) == {"h", "i", "n", "t"}, "a strange block")
        first, count = row["i"], whole(row["n"], 1)
        cut = bisect.bisect_right(sizes, first)
        need(cut == len(sizes) or sizes[cut] >= first + count, "a block over the end of a head")
        tree.push(bytes.fromhex(digest(row["h"])), count)
        if before and before[1] == count and before[0] // count % 2 == 0:
            need(cut and sizes[cut - 1] == first, "two blocks where one would do")
        return first, count

    def take_leaf(self, leaf, log):
        if leaf["watch"] == "org":
            if self.org and sha(self.org[0]).hex() == leaf["e"]:
                self.take_line(self.org.popleft(), leaf, "org.jsonl", log)
            return
        need(leaf["watch"] == self.watch, "a leaf of another watch")
        chain = self.chains.get(leaf["dev"])
        need(chain and chain.lines, "line %d of %s is missing" % (leaf["seq"], leaf["dev"]))
        data = chain.lines.popleft()
        need(sha(data).hex() == leaf["e"], "line %d of %s is another" % (leaf["seq"], leaf["dev"]))
        self.take_line(data, leaf, chain.name, log)

    def take_line(self, data, leaf, name, log):
        line = canonical(data)
        need(set(line) | OPTIONAL == LINE, "%s: not the fields of a line" % name)
        need(line["v"] == 1, "%s: a version that is not known" % name)
        for member in ("dev", "watch", "seq"):
            need(line[member] == leaf[member], "%s: the leaf states another %s" % (name, member))
        dev, org = line["dev"], line["watch"] == "org"
        need(dev in self.keys, "there is no key for device %s" % dev)
        self.signatures.add("%s, seq %d" % (name, line["seq"]), self.keys[dev], data, b64(leaf["sig"], 64))
        need((line["seq"] == 0) == (line["prev"] == ZEROS), "%s: a strange start" % name)
        if not org:
            chain = self.chains[dev]
            need((line["seq"], line["prev"]) == (chain.count, chain.last), "%s: a broken link" % name)
            chain.count, chain.last = chain.count + 1, leaf["e"]
            self.lines += 1
            self.after_seal += 1
        self.check_quoted(line, leaf, log)
        self.check_trust(line)
        self.note(line, chain=None if org else self.chains[dev])
        if "priv" in line and not org:
            private = self.private.get(dev, [])
            if private and sha(private[0]).hex() == digest(line["priv"]):
                body = canonical(private.popleft())
                b64(body["salt"], 16)
                self.kept.add(leaf["e"])
            else:
                self.missing_private.append(leaf["e"])

    def lost_its_end(self, origin, size, now):
        """A log that another one followed without being closed may have lost its end."""
        log = self.logs[origin]
        return log is not now and not log["close"] and log["size"] < size

    def check_quoted(self, line, leaf, log):
        head = line.get("head")
        if head is None:
            return
        need(set(head) == {"origin", "size", "root"}, "a strange head is quoted")
        size, root = whole(head["size"]), bytes.fromhex(digest(head["root"]))
        if head["origin"] == log["origin"]:
            need(size <= leaf["i"], "a head is quoted that did not exist yet")
        if size == 0:
            need(root == sha(b""), "an empty log with a strange root is quoted")
        elif head["origin"] not in self.heads or self.lost_its_end(head["origin"], size, log):
            self.open_heads += 1
        else:
            need(self.heads[head["origin"]].get(size) == root, "a head is quoted that the log never had")
            self.used[head["origin"]].add(size)

    def check_trust(self, line):
        dev = line["dev"]
        self.signers.add(dev)
        need(dev not in self.revoked, "device %s was no longer trusted" % dev)
        known = dev == self.server or dev in self.trusted or line["kind"] == "enrolled"
        need(known, "nobody had let device %s in" % dev)

    def note(self, line, chain):
        kind, body, by_server = line["kind"], line["body"], line["dev"] in self.servers
        if kind == "enrolled" and by_server:
            need(sha(b64(body["key"], 32)).hex() == body["device"], "a strange enrolment")
            self.trusted.add(body["device"])
        elif kind == "rekeyed" and (by_server or line["dev"] in self.trusted):
            self.trusted.add(sha(b64(body["key"], 32)).hex())
            if by_server:
                self.servers.add(sha(b64(body["key"], 32)).hex())
        elif kind == "revoked" and by_server:
            self.revoked.add(body["device"])
        elif kind == "erased" and by_server:
            self.erased_lines.add(body.get("line"))
            self.erased_blobs.add(body.get("blob"))
        elif kind == "sealed" and by_server and chain:
            for end in body.get("chains", []):
                sealed = self.chains.get(end["dev"], Chain("", []))
                count, last = sealed.count, sealed.last
                if sealed is chain:
                    count, last = count - 1, line["prev"]
                need(count >= end["count"], "lines of %s are missing that were sealed" % end["dev"])
                need(count > end["count"] or last == end["last"], "another end of %s" % end["dev"])
            self.sealed, self.after_seal = True, 0
        if kind not in ("enrolled", "rekeyed", "revoked", "erased", "sealed"):
            found = (body.get(member) for member in BLOB_MEMBERS)
            self.blobs.update(value for value in found if isinstance(value, str) and HEX.fullmatch(value))

    def check_ends(self):
        need(self.sealed, "no seal says how many lines there are")
        for chain in self.chains.values():
            need(not chain.lines and chain.count, "%s: lines that the log does not have" % chain.name)
        need(not self.org, "org.jsonl: lines that the logs do not have")
        need(not any(self.private.values()), "private lines that no line asks for")
        for line in self.missing_private:
            need(line in self.erased_lines, "the private line of %s is missing" % line)
        need(not self.erased_lines & self.kept, "a private line is here that was erased")
        here = {name[6:] for name in self.files if name.startswith("blobs/")}
        need(here <= self.blobs, "blobs that no line names: %s" % sorted(here - self.blobs))
        need(not here & self.erased_blobs, "a blob is here that was erased")
        missing = self.blobs - here - self.erased_blobs
        need(not missing, "blobs are missing: %s" % sorted(missing))
        need(set(self.keys) <= self.signers, "keys that no line needs")


class Chain:
    def __init__(self, name, lines):
        self.name, self.lines, self.count, self.last = name, deque(lines), 0, ZEROS


def read_folder(folder):
    files = {}
    for path, folders, names in os.walk(folder):
        folders[:] = [name for name in folders if name != "__pycache__"]
        for name in names:
            full = os.path.join(path, name)
            with open(full, "rb") as file:
                files[os.path.relpath(full, folder).replace(os.sep, "/")] = file.read()
    return files


def main():
    bundle = Bundle(read_folder(os.path.dirname(os.path.abspath(__file__))))
    try:
        signatures = bundle.verify()
    except (Fault, KeyError, TypeError, ValueError, AttributeError) as fault:
        print("DOES NOT HOLD: %s" % fault)
        return 1
    print("All holds: %d lines of %d devices of watch %s." % (bundle.lines, len(bundle.chains), bundle.watch))
    print("Checked %s." % signatures)
    print("Newest head: %s." % bundle.head)
    print("Not shown: whether the keys of log and server are theirs (compare log.vkey and about.json);")
    print("lines received after the newest seal, of which %d are here; phones never handed in;" % bundle.after_seal)
    print("what nobody wrote down; whether anyone walked.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
