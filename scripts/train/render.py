"""Draws batches of text lines on the GPU: layout.py says what and where, this file turns it into worn, photographed pixels.

Every output pixel is mapped back into line coordinates (u along the line, v up from the baseline, both in caps), the
glyph cell under it is looked up in the distance atlas, and the distance is shaded by the marking technique. Distances
make anti-aliasing, weight, outline, bevel and dot-peen craters one-liners, whatever the warp.
"""
import math

import numpy as np
import torch
import torch.nn.functional as F

from atlas import BASELINE_Y, CAP, ORIGIN_X, S
from layout import DOT_PEEN, ENGRAVED, STAMPED, dot_faces

UP = 2  # cells are kept at twice their stored size, so that dots keep their shape


def rand(like, low=0.0, high=1.0, shape=None):
    return torch.rand(shape or (like.shape[0], 1, 1), device=like.device) * (high - low) + low


def chance(like, p):
    return (rand(like) < p).float()


def smoothstep(x):
    x = x.clamp(0, 1)
    return x * x * (3 - 2 * x)


def noise(b, h, w, device, *steps):
    """Sum of smooth value noises with grid steps (px high, px wide); about zero mean, unit deviation."""
    out = 0
    for sy, sx in steps:
        grid = torch.randn(b, 1, max(2, math.ceil(h / sy) + 1), max(2, math.ceil(w / sx) + 1), device=device)
        out = out + F.interpolate(grid, (h, w), mode="bilinear", align_corners=True)[:, 0]
    return out * (1.4 / len(steps) ** 0.5)


class Atlas:
    """Glyph cells on the device, as one flat byte tensor [faces, glyphs, S * UP, S * UP]."""

    def __init__(self, path, device, dot_jitter=0.1):
        z = np.load(path)
        cells = torch.from_numpy(z["cells"]).to(device)
        faces, glyphs = cells.shape[:2]
        big = torch.cat([F.interpolate(c[:, None].float(), scale_factor=UP, mode="bilinear").round().byte()[:, 0][None] for c in cells])
        self.device, self.side = device, S * UP
        self.cells = torch.cat([big, self.draw_dots(z, glyphs, dot_jitter)]).reshape(-1)

    def draw_dots(self, z, glyphs, jitter):
        """Cells of minus the distance to the nearest dot, every dot a little off its place."""
        index, xy = z["dot_index"], torch.from_numpy(z["dot_xy"].astype(np.float32)).to(self.device)
        first = np.concatenate([[0], np.cumsum(index[:, 3])])
        centre = (torch.arange(self.side, device=self.device) + 0.5) / UP
        grid = torch.stack(torch.meshgrid(centre, centre, indexing="xy"), -1).reshape(-1, 2)
        out = []
        for face, k in dot_faces(index):
            rows = np.nonzero((index[:, 0] == face) & (index[:, 1] == k))[0]
            cells = torch.zeros(glyphs, self.side, self.side, dtype=torch.uint8, device=self.device)
            most = int(index[rows, 3].max())
            points = torch.full((len(rows), most, 2), 1e3, device=self.device)
            for j, row in enumerate(rows):
                points[j, :index[row, 3]] = xy[first[row]:first[row + 1]]
            points += torch.randn_like(points) * jitter * (3.4 if k == 0 else 2.0)
            nearest = torch.cat([torch.cdist(grid, p[None]).amin(-1) for p in points])
            cells[torch.from_numpy(index[rows, 2]).to(self.device).long()] = (128 - 16 * nearest).clamp(0, 255).round().byte().reshape(-1, self.side, self.side)
            out.append(cells)
        return torch.stack(out)

    def sample(self, cell, x, y):
        """Distance in caps at cell-pixel coordinates (x, y) of the cells."""
        x, y = (x * UP - 0.5).clamp(0, self.side - 1.001), (y * UP - 0.5).clamp(0, self.side - 1.001)
        x0, y0 = x.floor(), y.floor()
        fx, fy = x - x0, y - y0
        at = cell * (self.side * self.side) + y0.long() * self.side + x0.long()
        read = lambda step: self.cells[at + step].float()
        top, low = read(0) * (1 - fx) + read(1) * fx, read(self.side) * (1 - fx) + read(self.side + 1) * fx
        return ((top * (1 - fy) + low * fy) - 128) / (16 * CAP)


class Renderer:
    def __init__(self, atlas_path, device, height=48):
        self.atlas, self.device, self.height = Atlas(atlas_path, device), device, height
        self.grain = 1.0  # size of textures and blotches; 1 suits single lines
        self.caps = (5.0, 13.0)  # least and largest of the smallest caps of small print, pixels of the photo

    @torch.no_grad()
    def __call__(self, batch, severity):
        """Images [B, 3, H, W], blue-green-red in 0..1, and the mask [B, 1, 1, W] of columns inside the crop."""
        t = {k: v.to(self.device, non_blocking=True) if torch.is_tensor(v) else v for k, v in batch.items()}
        b, h, w = len(t["w"]), self.height, t["width"]
        sdf, t["at"] = self.distance(t, b, h, w, severity)
        t["label"], t["ink"] = t["labels"].gather(1, t["at"]).view_as(sdf), sdf > -0.08 * t["cap"].view(b, 1, 1)
        worn = severity * (1 - 0.6 * t["small"].view(b, 1, 1))  # of worn small print nothing is left
        counts = torch.bincount(batch["technique"], minlength=5).tolist()
        parts, start = [], 0
        for technique, n in enumerate(counts):
            if n:
                part = {k: v[start:start + n] for k, v in t.items() if torch.is_tensor(v) and len(v) == b}
                parts.append(self.shade(technique, sdf[start:start + n], part, worn[start:start + n]))
                start += n
        image = self.cover(torch.cat(parts), t["cap"], worn, t["ink"], t["at"], 1 - t["general"].view(b, 1, 1))
        image = self.photograph(image, t, severity, worn)
        inside = (torch.arange(w, device=self.device) < t["w"][:, None]).float()[:, None, None]
        return image * inside, inside

    def distance(self, t, b, h, w, severity):
        """Signed distance in px to the ink (the line itself and, at the edges, pieces of lines above and below), and the place
        in the line of the glyph at hand, [B, H * W]."""
        c = lambda name: t[name].view(b, 1, 1).float()
        px = torch.arange(w, device=self.device).view(1, 1, w) + 0.5
        py = torch.arange(h, device=self.device).view(1, h, 1) + 0.5
        px, py = px.expand(b, h, w), py.expand(b, h, w)
        turned = c("flip")
        px, py = px * (1 - turned) + (c("w") - px) * turned, py * (1 - turned) + (h - py) * turned
        like, mid = px, (px - c("w") / 2)
        slope = torch.randn(b, 1, 1, device=self.device) * 0.022 * (0.4 + severity)
        slope = (slope * c("wild").square()).clamp(-0.2, 0.2) * (h * 2.5 / c("w")).clamp(max=1)
        bow = torch.randn(b, 1, 1, device=self.device) * 0.05 * h * chance(like, 0.4) * c("wild")
        zoom = torch.randn(b, 1, 1, device=self.device) * 0.10 * chance(like, 0.6) * c("wild")
        rel = mid / c("w")
        dy = py - c("y0") - slope * mid - bow * (4 * rel * rel - 0.33)
        cap = c("cap") * (1 + zoom * rel).clamp(0.6, 1.4)
        shear = torch.randn(b, 1, 1, device=self.device) * 0.08 * c("wild")
        squeeze = (zoom * 0.5 + torch.randn(b, 1, 1, device=self.device) * 0.04 * chance(like, 0.4)).clamp(-0.15, 0.15)
        wave = noise(b, h, w, self.device, (16, 24)) * 0.02 * c("cap") * chance(like, 0.3)
        v = -(dy + wave) / cap
        u = (px - c("x0")) / (c("cap") * c("aspect"))
        along = (u - c("left")) / c("length")  # perspective along the line keeps both ends where the crop has them
        u = u + squeeze * c("length") * along * (1 - along) + shear * (v - 0.5)
        s, at = self.line(t["cells"].long(), t["starts"], t["jitter"], t["n"], u, v)
        # a neighbour line peeks in where the crop is loose
        other = torch.roll(torch.arange(b, device=self.device), 1)
        up = torch.where(chance(like, 0.5) > 0, 1.0, -1.0)
        # beside small print it may be a value far larger than its heading
        size = 1 + c("small") * rand(like, -0.3, 1.8).clamp(min=0)
        gap = (torch.where(up > 0, c("h"), size * c("h")) + rand(like, 0.08, 0.7)) * up
        same = (t["technique"][other] == t["technique"]).view(b, 1, 1)
        near, _ = self.line(t["cells"][other].long(), t["starts"][other], t["jitter"][other], t["n"][other], u / size + rand(like, -2, 4), (v - gap) / size)
        s = torch.where(same & (chance(like, 0.4) > 0), torch.maximum(s, near * size), s)
        return s * c("cap"), at

    def line(self, cells, starts, jitter, n, u, v):
        """Distance in caps to a line's ink, and the place in the line of the glyph at hand, [B, H * W]."""
        b = len(u)
        flat = u.reshape(b, -1)
        last = (n - 1).view(b, 1)
        i = torch.searchsorted(starts[:, 1:].contiguous(), flat.contiguous(), right=True).clamp(max=starts.shape[1] - 2)
        i = torch.minimum(i, last)
        a, z = starts.gather(1, i), starts.gather(1, i + 1)
        j = torch.where(flat < (a + z) / 2, i - 1, i + 1).clamp(min=0)
        j = torch.minimum(j, last)
        s = torch.maximum(self.glyph(cells, starts, jitter, i, flat, v.reshape(b, -1)), self.glyph(cells, starts, jitter, j, flat, v.reshape(b, -1))).view_as(u)
        return s, i

    def glyph(self, cells, starts, jitter, i, u, v):
        x = u - starts.gather(1, i) - 0.35
        y = v - 0.5 - jitter[..., 0].gather(1, i)
        turn, size = jitter[..., 1].gather(1, i), 1 + jitter[..., 2].gather(1, i)
        x, y = (x + turn * y) / size + 0.35, (y - turn * x) / size + 0.5
        return self.atlas.sample(cells.gather(1, i), ORIGIN_X + x * CAP, BASELINE_Y - y * CAP)

    def shade(self, technique, s, t, severity):
        """Ink or relief on a surface; s is the distance in px. Gives [B, 3, H, W]."""
        b, h, w = s.shape
        dev, cap = self.device, t["cap"].view(b, 1, 1)
        label, printed = t["label"], s
        s = torch.where(label, -cap, s)
        s = torch.where(t["stroke"].view(b, 1, 1) > 0, s + cap * rand(s, 0.03, 0.085), s)
        surface, ground, ink = self.surface(s, t, technique, severity)
        if technique == DOT_PEEN:
            pitch = t["pitch"].view(b, 1, 1) * cap
            radius = (pitch * rand(s, 0.3, 0.55)).clamp(min=0.045 * cap) * (1 + 0.18 * self.noise(b, h, w, (10, 10)) * rand(s)).clamp(0.5, 1.5)
            s = s + radius
            lost = smoothstep((self.noise(b, h, w, (4, 4)) - rand(s, 1.6, 4.0)) * 2)
            pit = (s / radius).clamp(0, 1)
            height = -(2 * pit - pit * pit) * (1 - lost) * radius
            height = height + torch.exp(-(s / (0.4 * radius)).square()) * (s < 0) * radius * 0.35 * chance(s, 0.5)
            mark, depth = pit.sqrt() * (1 - lost), rand(s, 0.5, 1.5)
        elif technique in (STAMPED, ENGRAVED):
            s = s + cap * torch.randn(b, 1, 1, device=dev) * 0.02
            bevel = cap * rand(s, 0.03, 0.2)
            mark = smoothstep(s / bevel + rand(s, 0.1, 0.9))
            height = mark * bevel * torch.where(chance(s, 0.7) > 0, -1.0, 1.0)
            # shallow where the punch or the cutter did not go down
            height = height * smoothstep(self.noise(b, h, w, (24, 40)) + 1.5 + rand(s, 0.0, 2.0) - 0.7 * severity).clamp(0.2, 1)
            depth = rand(s, 0.5, 1.6)
        else:
            s = s + cap * torch.randn(b, 1, 1, device=dev) * 0.018
            mark = (0.5 + s / rand(s, 0.6, 1.6)).clamp(0, 1)
            outline = chance(s, 0.04)
            mark = mark * (1 - outline) + outline * (0.5 + (cap * 0.05 - s.abs()) / 0.8).clamp(0, 1)
            height, depth = mark * 0.5, rand(s, 0, 0.4) * chance(s, 0.15)
        relief = technique in (STAMPED, ENGRAVED, DOT_PEEN)
        # paint or dirt in the mark: all, some or none of it where the relief itself can be seen
        fill = rand(s) * chance(s, 0.55) if relief else torch.ones_like(rand(s))
        wear = self.noise(b, h, w, (3, 3), (8, 10), (20, 30)) + rand(s, 2.6, 0.9) * (1.3 - 0.45 * severity) + 0.4
        fill = fill * smoothstep(wear) if not relief else fill * smoothstep(wear + 0.3)
        fill = (fill * mark)[:, None]
        image = ground * (1 - fill) + ink * fill
        image = image * surface[:, None]
        if relief or bool((depth > 0).any()):
            angle = torch.where(chance(s, 0.6) > 0, rand(s, -2.4, -0.7), rand(s, -math.pi, math.pi))
            rough = self.noise(b, h, w, (2, 2), (5, 7)) * rand(s, 0, 0.25) * (0.3 + severity)
            tall = (height + rough) * depth
            gy = F.pad(tall[:, 2:] - tall[:, :-2], (0, 0, 1, 1)) / 2
            gx = F.pad(tall[:, :, 2:] - tall[:, :, :-2], (1, 1)) / 2
            slope = -(gx * angle.cos() + gy * angle.sin())
            light = slope * rand(s, 0.25, 0.9)
            shine = (slope - rand(s, 0.1, 0.5)).clamp(min=0) * rand(s, 0, 0.9)
            image = image * (1 + light.clamp(-0.85, 1.2))[:, None] + shine[:, None] * 0.6
            if relief:
                letters = (0.5 + printed / rand(s, 0.6, 1.6)).clamp(0, 1) * label * smoothstep(wear + 0.2)
                against = torch.where(ground.mean((1, 2, 3)).view(b, 1, 1) > 0.42, rand(s, 0.02, 0.25), rand(s, 0.65, 1.0))
                image = image * (1 - letters[:, None]) + (against * letters)[:, None]
                image = image * (1 - (mark * rand(s, 0, 0.45) * chance(s, 0.6)))[:, None]
        return image

    def noise(self, b, h, w, *steps):
        return noise(b, h, w, self.device, *((y * self.grain, x * self.grain) for y, x in steps))

    def surface(self, s, t, technique, severity):
        """Texture factor [B, H, W], ground and ink colours [B, 3, 1, 1] (ground with its own blotches)."""
        b, h, w = s.shape
        dev = self.device
        grain = torch.where(chance(s, 0.5) > 0, self.noise(b, h, w, (1, 30)), self.noise(b, h, w, (2, 2), (6, 8)))
        texture = 1 + grain * rand(s, 0, 0.10) * (0.4 + severity) + self.noise(b, h, w, (20, 40)) * rand(s, 0, 0.12)
        general = t["general"].view(b, 1, 1)
        colourful = chance(s, 0.75) * general + chance(s, 0.08 if technique >= STAMPED else 0.25) * (1 - general)
        tint = lambda: 1 + (torch.rand(b, 3, 1, 1, device=dev) - 0.5) * (0.15 + 1.6 * colourful[:, None])
        dark, contrast = chance(s, 0.4), rand(s, 0.18, 0.9) + 0.12 * t["small"].view(b, 1, 1)
        low = rand(s, 0.02, 0.5)
        high = (low + contrast * (1 - 0.35 * severity)).clamp(max=1.0)
        ground, ink = torch.where(dark > 0, low, high), torch.where(dark > 0, high, low)
        if technique in (STAMPED, ENGRAVED, DOT_PEEN):
            ground, ink = rand(s, 0.2, 0.85), torch.where(chance(s, 0.6) > 0, rand(s, 0.03, 0.35), rand(s, 0.5, 0.95))
        ground, ink = (ground[:, None] * tint()).clamp(0.01, 1), (ink[:, None] * tint()).clamp(0.01, 1)
        # rust and grime: blotches of another colour, over ground and mark alike through the texture
        blotch = smoothstep((self.noise(b, h, w, (5, 6), (14, 18), (30, 50)) - rand(s, 0.6, 3.0) + 0.5 * severity) * 1.5) * rand(s, 0.2, 0.9)
        rust = torch.tensor([0.12, 0.22, 0.42], device=dev).view(1, 3, 1, 1) * rand(s, 0.5, 1.6)[:, None]
        ground = ground * (1 - blotch[:, None]) + rust * blotch[:, None]
        grime = smoothstep((self.noise(b, h, w, (3, 4), (12, 16)) - rand(s, 1.0, 3.5)) * 1.2) * rand(s, 0, 0.7) * severity
        # busy grounds behind scene text
        busy = self.noise(b, h, w, (8, 10), (20, 24)) * 0.2 * chance(s, 0.3) * general * contrast
        return (texture * (1 - grime) + busy).clamp(min=0.05), ground, ink

    def cover(self, image, cap, severity, ink=None, at=None, where=1):
        """Rust, paint, dirt and chips over what is marked: ragged patches and specks, in colours of their own or of the plate.
        `cap` [B], px; `severity` [B, 1, 1] or one number; `where` [B, 1, 1]: 0 leaves a picture alone. Of no glyph (`ink` where some is, `at` of which) more than about two
        thirds are hidden: what is read must have been seen."""
        b, _, h, w = image.shape
        dev, alphas = self.device, []
        plain = image.clamp(0, 1)
        for sizes, most, how_often in (((0.12, 1.3), 0.4, 0.5), ((0.05, 0.2), 0.1, 0.35)):
            field = torch.empty(b, h, w, device=dev)
            for ids in torch.randperm(b, device=dev).chunk(6):
                size = float(cap[ids].mean()) * math.exp(np.random.uniform(*map(math.log, sizes)))
                steps, weights = [max(1.5, size / k) for k in (1, 2.5, 7)], (1, np.random.uniform(0.2, 0.9), np.random.uniform(0, 0.5))
                octaves = [weight * noise(len(ids), h, w, dev, (step, step * np.random.uniform(0.8, 1.6))) for step, weight in zip(steps, weights)]
                field[ids] = sum(octaves) / math.hypot(*weights)
            share = (rand(image).square() * most * (0.3 + severity)).clamp(0.003, 0.6)
            bound = math.sqrt(2) * torch.erfinv(1 - 2 * share)
            alphas.append(smoothstep((field - bound) * rand(image, 1.5, 14.0) + 0.5) * rand(image, 0.4, 1.0) * chance(image, how_often) * where)
        if ink is not None:
            hidden = (1 - (1 - alphas[0]) * (1 - alphas[1])) * ink
            whole, covered = (torch.zeros(b, int(at.max()) + 1, device=dev).scatter_add_(1, at, x.reshape(b, -1).float()) for x in (ink, hidden))
            worst = (covered / whole.clamp(min=1)).amax(1).view(b, 1, 1)
            alphas = [a * (0.65 / worst.clamp(min=0.65)) for a in alphas]
        for alpha in alphas:
            pick = torch.randint(h * w, (b, 1, 1), device=dev).expand(b, 3, 1)
            rust = torch.tensor([0.12, 0.24, 0.45], device=dev).view(1, 3, 1, 1) * rand(image, 0.4, 1.7)[:, None]
            paint = (rand(image)[:, None] * (1 + (torch.rand(b, 3, 1, 1, device=dev) - 0.5) * 0.7)).clamp(0, 1)
            plate = plain.reshape(b, 3, -1).gather(2, pick)[..., None]
            extreme = torch.where(chance(image, 0.5)[:, None] > 0, plain.amax((2, 3), keepdim=True), plain.amin((2, 3), keepdim=True))
            which = rand(image)[:, None]
            colour = torch.where(which < 0.3, rust, torch.where(which < 0.6, paint, torch.where(which < 0.8, plate, extreme)))
            grain = 1 + noise(b, h, w, dev, (1.5, 1.5), (5, 5)) * rand(image, 0, 0.22)
            image = image * (1 - alpha)[:, None] + colour * (grain * alpha)[:, None]
        return image

    def photograph(self, image, t, severity, worn):
        """As the crop of a line looks at run time: cut out of a photo in which its caps are some pixels high, and enlarged."""
        image = self.light(image, t, worn)
        out, small = torch.empty_like(image), t["small"] > 0
        for ids, camera in ((torch.nonzero(~small)[:, 0], self.camera), (torch.nonzero(small)[:, 0], self.small_print)):
            if len(ids):
                out[ids] = camera(image[ids], severity, t["fine"][ids])
        return out

    def light(self, image, t, severity):
        """Rules of the plate, scratches, shadow, glare, exposure."""
        b, _, h, w = image.shape
        dev, like = self.device, image[:, 0]
        px = torch.arange(w, device=dev).view(1, 1, w) + 0.5
        py = torch.arange(h, device=dev).view(1, h, 1) + 0.5
        wide = t["w"].view(b, 1, 1)
        # ruled lines and plate edges close to the crop's border
        cells = t["small"].view(b, 1, 1) if "small" in t else torch.zeros_like(wide)  # small print stands in ruled cells
        for p, at, axis in ((0.07, rand(like, 0, 0.08) * h, py), (0.10, h - rand(like, 0, 0.14) * h, py), (0.05, rand(like, 0, 0.05) * h, px), (0.05, wide - rand(like, 0, 0.05) * h, px)):
            rule = (1 - ((axis - at).abs() / (rand(like, 0.7, 2.2) * (1 + cells)) - 0.5).clamp(0, 1)) * chance(like, p + 0.15 * cells)
            image = image * (1 - rule[:, None]) + rule[:, None] * rand(like)[:, None]
        for _ in range(3):  # scratches
            angle = rand(like, -math.pi, math.pi)
            d = ((px - rand(like) * wide) * angle.sin() + (py - rand(like) * h) * angle.cos()).abs()
            line = (1 - d / rand(like, 0.4, 1.3)).clamp(0, 1) * chance(like, 0.35 * severity) * (noise(b, h, w, dev, (16, 30)) > 0)
            image = image * (1 - 0.8 * line[:, None]) + 0.8 * line[:, None] * rand(like)[:, None]
        # light: a slope, a shadow's edge, a glare spot
        ramp = ((px / wide - 0.5) * torch.randn(b, 1, 1, device=dev) + (py / h - 0.5) * torch.randn(b, 1, 1, device=dev)) * 0.35
        shadow = torch.sigmoid(((px - rand(like) * wide) * torch.randn(b, 1, 1, device=dev) + (py - h / 2) * torch.randn(b, 1, 1, device=dev)) * 0.4) * rand(like, 0, 0.6) * chance(like, 0.15)
        glare = torch.exp(-(((px - rand(like) * wide) / (rand(like, 0.2, 2.5) * h)).square() + ((py - rand(like) * h) / (rand(like, 0.2, 1.0) * h)).square())) * rand(like, 0, 0.8) * chance(like, 0.15 * (0.4 + severity))
        image = image * ((1 + ramp).clamp(0.3, 1.7) * (1 - shadow))[:, None] + glare[:, None]
        image = image * rand(like, 0.6, 1.25)[:, None] + (rand(like)[:, None] - 0.5) * 0.15
        # most cameras expose for the plate
        inside = (px < wide).float()
        mean = (image.mean(1) * inside).sum((1, 2)) / (inside.sum((1, 2)) * h)
        exposed = image * (rand(like, 0.2, 0.72) / mean.view(b, 1, 1).clamp(min=0.02)).clamp(0.3, 3)[:, None]
        return torch.where(chance(like, 0.7)[:, None] > 0, exposed, image)

    def small_print(self, image, severity, cap):
        """A photo in which the smallest caps are a few pixels high (`self.caps`): out of focus or shaken, at any angle to its pixels, noisy, compressed;
        then cut out and enlarged. `cap`: the smallest, in pixels of the crop."""
        b, _, h, w = image.shape
        dev = self.device
        out = torch.empty_like(image)
        for ids in torch.argsort(cap).chunk(8):
            x, k = image[ids], len(ids)
            factor = float(cap[ids].mean()) / math.exp(np.random.uniform(*map(math.log, self.caps)))
            fine = factor / 2  # the lens draws at twice the photo's resolution
            x = F.interpolate(x, (round(h / fine), round(w / fine)), mode="bilinear", align_corners=False, antialias=True)
            x = lens(x, cap[ids].view(k, 1, 1) / fine, severity)
            turn = math.radians(float(np.clip(np.random.normal(0, 7), -20, 20))) if np.random.random() < 0.6 else 0.0
            cos, sin = math.cos(turn), math.sin(turn)
            size = (w / factor, h / factor)
            sw, sh = math.ceil(size[0] * cos + size[1] * abs(sin)) + 2, math.ceil(size[0] * abs(sin) + size[1] * cos) + 2
            shift = rand(x, -0.5, 0.5, (k, 1, 1, 2))
            photo = sample(x, rotated(sw, sh, cos, -sin, dev) + shift, size, "bilinear")
            grain = torch.randn_like(photo)
            if np.random.random() < 0.4:  # noise reduction leaves blotches
                grain = blur(grain, torch.full((k, 1, 1), 0.7, device=dev), torch.full((k, 1, 1), 0.7, device=dev)) * 2
            photo = photo + grain * (rand(x).square() * 0.035 * (0.3 + severity))[:, None] * (0.4 + photo.clamp(0, 1).sqrt())
            photo = photo.clamp(0, 1)
            if np.random.random() < 0.35:  # monochrome
                photo = photo.mean(1, keepdim=True).expand_as(photo)
            if np.random.random() < 0.25:  # sharpening phone
                one = torch.ones(k, 1, 1, device=dev)
                photo = (photo + (photo - blur(photo, one, one)) * np.random.uniform(0.3, 1.2)).clamp(0, 1)
            if np.random.random() < 0.75:
                photo = jpeg(photo, np.random.uniform(35, 95))
            photo = (photo * 255).round() / 255
            # the reader enlarges with a cubic kernel, what is hardly enlarged linearly
            out[ids] = sample(photo, rotated(w, h, cos, sin, dev, factor) - turned_shift(shift, cos, sin), (sw, sh), "bicubic" if np.random.random() < 0.8 else "bilinear")
        return ((out.clamp(0, 1) * 255).round() / 255).clamp(0, 1)

    def camera(self, image, severity, _cap):
        """Blur, resampling, noise, compression."""
        b, _, h, w = image.shape
        dev = self.device
        order = torch.randperm(b, device=dev)
        out = torch.empty_like(image)
        for ids in order.chunk(6):
            if not len(ids):
                continue
            x = image[ids]
            k = len(ids)
            factor = 1 + max(0.0, float(np.random.exponential(0.25 + 0.4 * severity))) if np.random.random() < 0.8 else 1.0
            factor = min(factor, 3.6)
            sh, sw = max(10, round(h / factor)), max(8, round(w / factor))
            sigma = (rand(x, 0.05, 0.5) + rand(x, 0, 1.0).square() * severity) * (h / 48)
            x = blur(x, sigma + 0.35 * (factor - 1), sigma * rand(x, 0.6, 1.7) + 0.35 * (factor - 1))
            small = F.interpolate(x, (sh, sw), mode="bilinear", align_corners=False)
            small = small + torch.randn_like(small) * (rand(small, 0, 0.09).square() * 5 * (0.15 + severity) * 0.5)[:, None] * (0.4 + small.clamp(0, 1).sqrt())
            small = small.clamp(0, 1)
            if np.random.random() < 0.35:  # monochrome
                small = small.mean(1, keepdim=True).expand_as(small)
            if np.random.random() < 0.6:
                small = jpeg(small, np.random.uniform(25, 92))
            if np.random.random() < 0.2:  # sharpening phone
                small = small + (small - blur(small, torch.ones(k, 1, 1, device=dev), torch.ones(k, 1, 1, device=dev))) * np.random.uniform(0.3, 1.2)
            out[ids] = F.interpolate(small, (h, w), mode=np.random.choice(["bilinear", "bicubic"]), align_corners=False)
        return ((out.clamp(0, 1) * 255).round() / 255).clamp(0, 1)


def rotated(w, h, cos, sin, device, pitch=1.0):
    """Where the pixels of a w x h raster lie from its middle after a rotation, in units of `pitch` pixels, [1, h, w, 2]."""
    y, x = torch.meshgrid((torch.arange(h, device=device) + 0.5 - h / 2) / pitch, (torch.arange(w, device=device) + 0.5 - w / 2) / pitch, indexing="ij")
    return torch.stack([cos * x - sin * y, sin * x + cos * y], -1)[None]


def turned_shift(shift, cos, sin):
    x, y = shift.unbind(-1)
    return torch.stack([cos * x - sin * y, sin * x + cos * y], -1)


def sample(image, at, size, mode):
    """Pixels at places given from the middle of an image that is `size` = (wide, high) in their unit; its edge goes on beyond it."""
    grid = (at / torch.tensor([size[0] / 2, size[1] / 2], device=image.device)).expand(len(image), -1, -1, -1)
    return F.grid_sample(image, grid, mode=mode, padding_mode="border", align_corners=False)


def lens(x, cap, severity, radius=8):
    """Defocus (Gaussian, or the disc of an aperture) drawn along the path of a shake; sizes go with the cap height [B, 1, 1], px."""
    b, c, h, w = x.shape
    sigma = (0.03 + 0.16 * rand(cap).square() * (0.5 + severity)) * cap
    length = cap * rand(cap, 0.1, 0.5) * chance(cap, 0.4) * (0.5 + severity)
    sigma = torch.where(length > 0, sigma * 0.6, sigma).clamp(min=0.6)
    angle = rand(cap, 0, math.pi)
    y, x_ = torch.meshgrid(*[torch.arange(-radius, radius + 1, device=x.device).float()] * 2, indexing="ij")
    along, across = x_ * angle.cos() + y * angle.sin(), y * angle.cos() - x_ * angle.sin()
    beyond = (along.abs() - length / 2).clamp(min=0)
    away = (beyond.square() + across.square()).sqrt()
    disc = torch.sigmoid((2 * sigma - away) * 3)  # a disc's radius is twice the deviation along an axis
    kernel = torch.where(chance(cap, 0.4) > 0, disc, torch.exp(-0.5 * (away / sigma).square()))
    kernel = kernel * (1 + chance(cap, 0.5) * 2 * (2 * along / length.clamp(min=1)).square().clamp(max=1) * (length > 0))  # slower at the turns: a double image
    kernel = (kernel / kernel.sum((1, 2), keepdim=True)).repeat_interleave(c, 0)[:, None]
    return F.conv2d(F.pad(x.reshape(1, b * c, h, w), (radius,) * 4, mode="replicate"), kernel, groups=b * c).view(b, c, h, w)


def blur(x, sigma_y, sigma_x, radius=4):
    """Separable Gaussian with a deviation of its own for every image (sigma [B, 1, 1], px)."""
    b, c, h, w = x.shape
    taps = torch.arange(-radius, radius + 1, device=x.device).float()
    for sigma, shape, pad in ((sigma_y, (2 * radius + 1, 1), (0, 0, radius, radius)), (sigma_x, (1, 2 * radius + 1), (radius, radius, 0, 0))):
        kernel = torch.exp(-0.5 * (taps / sigma.view(b, 1).clamp(min=0.05)).square())
        kernel = (kernel / kernel.sum(1, keepdim=True)).repeat_interleave(c, 0).view(b * c, 1, *shape)
        x = F.conv2d(F.pad(x.reshape(1, b * c, h, w), pad, mode="replicate"), kernel, groups=b * c).view(b, c, h, w)
    return x


_DCT = torch.tensor([[math.cos((2 * x + 1) * k * math.pi / 16) * (math.sqrt(1 / 8) if k == 0 else 0.5) for x in range(8)] for k in range(8)])
_QUANT = torch.tensor([[16, 11, 10, 16, 24, 40, 51, 61], [12, 12, 14, 19, 26, 58, 60, 55], [14, 13, 16, 24, 40, 57, 69, 56], [14, 17, 22, 29, 51, 87, 80, 62],
                       [18, 22, 37, 56, 68, 109, 103, 77], [24, 35, 55, 64, 81, 104, 113, 92], [49, 64, 78, 87, 103, 121, 120, 101], [72, 92, 95, 98, 112, 100, 103, 99]]).float()


def jpeg(x, quality):
    """Quantises 8 x 8 DCT blocks with the luminance table of ITU-T T.81 annex K (every channel alike)."""
    b, c, h, w = x.shape
    x = F.pad(x, (0, -w % 8, 0, -h % 8), mode="replicate")
    hh, ww = x.shape[2:]
    d, q = _DCT.to(x.device), _QUANT.to(x.device)
    scale = 50 / quality if quality < 50 else 2 - quality / 50
    q = (q * scale).clamp(1, 255)
    blocks = (x.view(b, c, hh // 8, 8, ww // 8, 8).permute(0, 1, 2, 4, 3, 5) - 0.5) * 255
    coefficients = (d @ blocks @ d.T / q).round() * q
    blocks = d.T @ coefficients @ d / 255 + 0.5
    return blocks.permute(0, 1, 2, 4, 3, 5).reshape(b, c, hh, ww)[:, :, :h, :w].clamp(0, 1)
