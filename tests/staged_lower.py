"""A staged rig for the papers: a litter is tilted, then hung on another line. Invented, with text that
would do harm where it isn't escaped."""

STAGED = r"""
rig "Litter tilt, <b>staged</b> | *once*"
revision 3
note "=SUM(1) <script>alert(1)</script>"

anchor left-bolt, right-bolt: strength 15 kN, source "mark on the plate"
anchor third-bolt: strength 15 kN
person jo, kim: standing
person vic
harness vic-seat: worn by vic
litter basket: 15 kg, points head-left, head-right, foot-left, foot-right
ring master: strength 40 kN
edge lip
pad mat
attach left-bolt - carabiner-en362-b left-crab - descender left-device
attach right-bolt - carabiner-en362-b right-crab - descender right-device
left-device: operated by jo, self-locking
right-device: operated by kim, self-locking
rope red: 11 mm, 60 m, drop 25 m, like low-stretch-a
    gripped by left-device
    over lip, padded by mat
    tied to master with bowline as red-bowline
    tied to vic-seat with figure-eight as red-tail
rope green: 11 mm, 60 m, drop 25 m, like low-stretch-a
    gripped by right-device
    over lip, padded by mat
    tied to master with bowline as green-bowline
interlock red-bowline, green-bowline
attach master - strap vic-strap - vic-seat
attach master - strap leg-1 - basket.head-left
attach master - strap leg-2 - basket.head-right
attach master - strap leg-3 - basket.foot-left
attach master - strap leg-4 - basket.foot-right
attach basket - strap lashing - vic

sound master fails: "forged ring, looked at each year"
accept left-device slips: "=HYPERLINK(1) | <i>watched</i>"
require everyone held after any 1 failure
require every anchor has strength at least 12 kN

stage "Tilt"
    say "stop <all>"
    rope tilt: 8 mm, 10 m
        tied to basket.foot-left with figure-eight
        gripped by rope-grab tilt-grab - master
        stopper
    take in tilt by 0.2 m
    check "leg-3 and leg-4 hang slack"
    detach leg-3 from basket.foot-left
    detach leg-4 from basket.foot-right
    pay out tilt by 1.2 m
    note "upright now"
stage "Change of line"
    take left-device in hand
    open left-device
    attach third-bolt - strap later - master
    detach red-tail
    land basket on ground
"""
"""After `open left-device` (state 10) green alone holds everybody, until the third bolt is on."""
