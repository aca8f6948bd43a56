"""Makes pictures of a log sheet as hands, cameras and scanners make them, with Pillow and OpenCV.

distort.py PAGE.png BOXES.json OUT DISTORTION SEED COUNT

Writes COUNT pictures and OUT/truth.json: for each picture its file and which boxes were ticked.
"""

import json
import sys

import cv2
import numpy as np
from PIL import Image, ImageFilter

PAGE_DPI = 300


def random_ticks(page, boxes, rng):
    """Ticks a random share of the boxes the way people do; returns the inked page and the truth."""
    page = page.copy()
    share = rng.uniform(0.2, 0.95)
    style = rng.integers(0, 5)
    pen = rng.uniform(3.0, 9.0)  # 0.25 to 0.75 mm
    tone = int(rng.uniform(10, 120))
    truth = []
    for x, y, side in boxes:
        ticked = bool(rng.random() < share)
        truth.append(ticked)
        if not ticked:
            continue
        jitter = rng.normal(0, side * 0.05, 2)
        corner = np.array([x, y]) + jitter
        kind = style if rng.random() < 0.85 else rng.integers(0, 5)
        for stroke in strokes(kind, rng):
            points = np.array(stroke) + rng.normal(0, 0.025, (len(stroke), 2))
            points = ((corner + points * side) * 16).astype(np.int32).reshape(-1, 1, 2)
            width = max(2, int(round(pen * rng.uniform(0.85, 1.15))))
            cv2.polylines(page, [points], False, tone, width, cv2.LINE_AA, 4)
    return page, truth


def strokes(kind, rng):
    """In units of the box: check, cross, slash, a loop, a thick dab."""
    over = rng.uniform(0.0, 0.30)
    if kind == 0:
        return [[(0.22, 0.5), (0.42, 0.8), (0.85 + over / 3, 0.1 - over)]]
    if kind == 1:
        return [[(0.12, 0.12), (0.88, 0.88)], [(0.88, 0.12), (0.12, 0.88)]]
    if kind == 2:
        return [[(0.1, 0.9 + over / 3), (0.9 + over / 3, 0.1)]]
    if kind == 3:
        turns = np.linspace(0, 2.2 * np.pi, 14)
        return [[(0.5 + 0.32 * np.cos(t), 0.5 + 0.32 * np.sin(t)) for t in turns]]
    return [[(0.3, 0.35), (0.7, 0.65), (0.3, 0.65), (0.7, 0.35), (0.5, 0.7)]]


def handwriting(page, boxes, rng):
    """Times, initials and codes in the other cells, and a note across the legend."""
    rows = sorted({y for _, y, _ in boxes})
    left = min(x for x, _, _ in boxes)
    right = max(x for x, _, _ in boxes)
    side = boxes[0][2] if boxes else 0
    for y in rows:
        for x in (left - 420 + rng.integers(-8, 8), left - 240, right + 130, right + 330):
            text = "%02d:%02d" % (rng.integers(0, 24), rng.integers(0, 60))
            where = (int(x), int(y + side * 0.9 + rng.integers(-6, 6)))
            font = cv2.FONT_HERSHEY_SCRIPT_SIMPLEX
            cv2.putText(page, text, where, font, 1.1, int(rng.uniform(20, 110)), 3, cv2.LINE_AA)


def plain(page, rng):
    return page


def scan(dpi):
    def made(page, rng):
        size = (int(page.shape[1] * dpi / PAGE_DPI), int(page.shape[0] * dpi / PAGE_DPI))
        small = np.asarray(Image.fromarray(page).resize(size, Image.Resampling.BICUBIC))
        return turn(small, rng.uniform(-2, 2))

    return made


def turn(page, degrees):
    h, w = page.shape
    matrix = cv2.getRotationMatrix2D((w / 2, h / 2), degrees, 1.0)
    c, s = abs(matrix[0, 0]), abs(matrix[0, 1])
    size = (int(h * s + w * c), int(h * c + w * s))
    matrix[0, 2] += size[0] / 2 - w / 2
    matrix[1, 2] += size[1] / 2 - h / 2
    return cv2.warpAffine(page, matrix, size, flags=cv2.INTER_AREA, borderValue=90)


def rotation(page, rng):
    page = scan(200)(page, rng)
    page = turn(page, rng.uniform(-12, 12))
    return np.rot90(page, rng.integers(0, 4)).copy()


def perspective(page, rng, most=0.09):
    page = scan(200)(page, rng)
    h, w = page.shape
    pad = int(0.12 * w)
    corners = np.float32([(0, 0), (w, 0), (w, h), (0, h)])
    moved = corners + np.float32(rng.uniform(-most, most, (4, 2)) * w) + pad
    matrix = cv2.getPerspectiveTransform(corners, moved)
    table = int(rng.uniform(20, 140))
    size = (w + 2 * pad, h + 2 * pad)
    return cv2.warpPerspective(page, matrix, size, flags=cv2.INTER_LINEAR, borderValue=table)


def blur(page, rng):
    page = scan(200)(page, rng)
    radius = rng.uniform(0.8, 2.2)
    return np.asarray(Image.fromarray(page).filter(ImageFilter.GaussianBlur(radius)))


def motion(page, rng):
    page = scan(200)(page, rng)
    length = int(rng.integers(3, 9))
    kernel = np.zeros((length, length), np.float32)
    kernel[length // 2, :] = 1.0 / length
    matrix = cv2.getRotationMatrix2D((length / 2 - 0.5, length / 2 - 0.5), rng.uniform(0, 180), 1)
    kernel = cv2.warpAffine(kernel, matrix, (length, length))
    return cv2.filter2D(page, -1, kernel / max(kernel.sum(), 1e-6))


def shadow(page, rng):
    page = scan(200)(page, rng).astype(np.float32)
    h, w = page.shape
    mask = np.zeros((h, w), np.float32)
    for _ in range(rng.integers(1, 3)):
        points = rng.uniform(-0.2, 1.2, (rng.integers(3, 6), 2)) * (w, h)
        cv2.fillPoly(mask, [points.astype(np.int32)], 1.0)
    soft = rng.uniform(0.5, 60)
    mask = cv2.GaussianBlur(mask, (0, 0), soft)
    return (page * (1 - rng.uniform(0.25, 0.6) * mask)).clip(0, 255).astype(np.uint8)


def stains(page, rng):
    page = scan(200)(page, rng).astype(np.float32)
    h, w = page.shape
    for _ in range(rng.integers(2, 6)):
        spot = np.zeros((h, w), np.float32)
        middle = (int(rng.uniform(0, w)), int(rng.uniform(0, h)))
        radius = int(rng.uniform(0.04, 0.2) * w)
        if rng.random() < 0.6:
            cv2.circle(spot, middle, radius, 1.0, int(rng.uniform(5, 22)))
            cv2.circle(spot, middle, radius, 0.3, -1)
        else:
            axes = (radius, int(radius * rng.uniform(0.3, 1)))
            cv2.ellipse(spot, middle, axes, rng.uniform(0, 180), 0, 360, 1.0, -1)
        spot = cv2.GaussianBlur(spot, (0, 0), rng.uniform(1.5, 8))
        page *= 1 - rng.uniform(0.1, 0.38) * spot
    return page.clip(0, 255).astype(np.uint8)


def bend(page, rng):
    """Paper that lies in waves: up to 1.2 mm off at 200 dpi."""
    page = scan(200)(page, rng)
    h, w = page.shape
    ys, xs = np.mgrid[0:h, 0:w].astype(np.float32)
    high = rng.uniform(3, 9.5)
    phase, waves = rng.uniform(0, 6.3, 2), rng.uniform(0.5, 1.5, 2)
    dx = high * np.sin(ys / h * 6.3 * waves[0] + phase[0])
    dy = high * np.sin(xs / w * 6.3 * waves[1] + phase[1])
    return cv2.remap(page, (xs + dx).astype(np.float32), (ys + dy).astype(np.float32), cv2.INTER_LINEAR, borderValue=90)


def jpeg(page, rng):
    return scan(200)(page, rng)


def noise(page, rng):
    page = scan(200)(page, rng).astype(np.float32)
    page = page * rng.uniform(0.45, 0.9) + rng.uniform(0, 25)
    return (page + rng.normal(0, rng.uniform(4, 16), page.shape)).clip(0, 255).astype(np.uint8)


def phone(page, rng):
    """What a phone makes of it at night: tilt, bend, shadow, blur, noise, then JPEG."""
    page = perspective(page, rng, 0.06)
    h, w = page.shape
    light = np.linspace(rng.uniform(0.5, 1), rng.uniform(0.5, 1), w, dtype=np.float32)[None, :]
    light = light * np.linspace(rng.uniform(0.7, 1), rng.uniform(0.7, 1), h, dtype=np.float32)[:, None]
    page = cv2.GaussianBlur(page, (0, 0), rng.uniform(0.5, 1.3)).astype(np.float32) * light
    return (page + rng.normal(0, rng.uniform(2, 8), page.shape)).clip(0, 255).astype(np.uint8)


DISTORTIONS = {
    "scan-300": (plain, None),
    "scan-200": (scan(200), None),
    "scan-150": (scan(150), None),
    "rotation": (rotation, None),
    "perspective": (perspective, None),
    "blur": (blur, None),
    "motion": (motion, None),
    "shadow": (shadow, None),
    "stains": (stains, None),
    "bend": (bend, None),
    "jpeg": (jpeg, (12, 45)),
    "noise": (noise, None),
    "phone": (phone, (45, 90)),
}


def main():
    page_file, boxes_file, out, name, seed, count = sys.argv[1:]
    page = np.asarray(Image.open(page_file).convert("L"))
    boxes = json.load(open(boxes_file))
    make, quality = DISTORTIONS[name]
    truths = []
    for number in range(int(count)):
        rng = np.random.default_rng([int(seed), number, sum(map(ord, name))])
        inked, truth = random_ticks(page, boxes, rng)
        handwriting(inked, boxes, rng)
        picture = Image.fromarray(make(inked, rng))
        if quality:
            file = "%s-%d.jpg" % (name, number)
            picture.save("%s/%s" % (out, file), quality=int(rng.integers(*quality)))
        else:
            file = "%s-%d.png" % (name, number)
            picture.save("%s/%s" % (out, file), compress_level=1)
        truths.append({"file": file, "ticked": truth})
    versions = {"pillow": Image.__version__, "opencv": cv2.__version__, "numpy": np.__version__}
    json.dump({"versions": versions, "pictures": truths}, open(out + "/truth.json", "w"))


main()
