"""What people say near the pen, or read aloud, that is no remark: invented chat, and prose in the public domain."""

from __future__ import annotations

CHAT = """
I told him the lorry would never get down that lane, and sure enough it took the gatepost with it.
Did you see the match last night? I fell asleep before the second half.
My knee has been playing up ever since I came off the quad bike.
She starts at the big school in September, and we still have no uniform.
They want eleven hundred pounds for the clutch, and that is without the labour.
Put the kettle on, would you, and I will be in as soon as I have moved these hurdles.
It was the wettest spring that I can remember, and my father says the same.
The price of feed has gone up again, it is hardly worth growing barley.
Have you heard that the post office is closing on Thursdays?
I left my gloves on the dashboard and the dog has eaten one of them.
He rang me at half past six in the morning to ask about a trailer.
We had the in-laws over on Sunday and nobody wanted the sprouts.
If the wind drops we might get the hay in before the weekend.
There is a sale at the mart on Friday, are you going over for it?
My phone has been dead since yesterday, so nobody can get hold of me.
The tractor would not start, so I had to walk up to the top field.
Mind your feet, there is ice all along the front of the shed.
They have put a new roof on the chapel, all in green tin.
You should have seen the size of the bill from the vet last month.
I think the left one of those two headlamps has gone again.
Our neighbour has bought himself a drone to look for lost lambs.
She said that she would come back for the trailer in two weeks.
I can never remember which of the brothers is which.
We are going to the seaside for four days if the weather holds.
The baker does a very good loaf with seeds in it.
How is your mother getting on with her new hip?
He has not been right since he fell off the bales.
It says on the wireless that there will be snow on the hills by night.
Hang on a moment, somebody is at the gate.
That dog would not hurt a fly, but the postman will not believe it.
I paid seven pounds fifty for a sandwich and a cup of tea.
There were more than three hundred people at the show this year.
The council came to look at the pothole and then went away again.
Would you pass me that bucket, no, the blue one.
I have been up since four with a cow that would not calve.
You can borrow the chainsaw, but bring it back with some petrol in it.
The youngest has lost her front teeth and whistles when she talks.
We could do with another pair of hands, if you are not busy.
They reckon the new road will take twenty minutes off the drive.
I never liked that wallpaper, but she chose it, so there we are.
""".strip().splitlines()

NEAR_THE_TRADE = """
He is a good trimmer, but he leaves the heels too high for my liking.
I used to spray everything, and now I hardly spray at all.
My uncle had a sore foot all winter and would not see anyone about it.
You want to look at her left hand side, the hinge has come off.
We had a lot of lameness the year of the floods.
The front tyres are worn, and the back ones are not much better.
That is the best condition I have ever seen that barn in.
She was in two minds whether to keep the billy or sell him.
There were nineteen of us for dinner, and one oven.
Both of the boys are off to college, so it is quiet in the house.
I asked him twice whether the gate was sound, and he said that it was fine.
They did the whole flock in a morning, with four men and a good dog.
The tag office wants it all written down, and in black ink too.
I must get my shears sharpened before the autumn.
Do you remember that ewe with the twisted horn, what was she called?
The doctor says that it is only a bruise and to rest it for a week.
He scored three on Saturday, and two of them with his left foot.
Next time I will check the weather before I open the gate.
It is a hollow sort of house, you can hear every step on the stairs.
Nothing between here and the village but mud.
""".strip().splitlines()

READING = """
It was the best of times, it was the worst of times, it was the age of wisdom, it was the age of foolishness.
There were a king with a large jaw and a queen with a plain face, on the throne of England.
Alice was beginning to get very tired of sitting by her sister on the bank, and of having nothing to do.
So she was considering in her own mind, as well as she could, for the hot day made her feel very sleepy and stupid.
There was nothing so very remarkable in that, nor did Alice think it so very much out of the way.
It is a truth universally acknowledged, that a single man in possession of a good fortune, must be in want of a wife.
My dear Mister Bennet, said his lady to him one day, have you heard that Netherfield Park is let at last?
Call me Ishmael. Some years ago, never mind how long precisely, I thought I would sail about a little.
Whenever it is a damp, drizzly November in my soul, I account it high time to get to sea as soon as I can.
To Sherlock Holmes she is always the woman. I have seldom heard him mention her under any other name.
He was, I take it, the most perfect reasoning and observing machine that the world has seen.
Christmas will not be Christmas without any presents, grumbled Jo, lying on the rug.
The Mole had been working very hard all the morning, spring cleaning his little home.
Something up above was calling him imperiously, and he made for the steep little tunnel.
Marley was dead, to begin with. There is no doubt whatever about that.
The register of his burial was signed by the clergyman, the clerk, the undertaker, and the chief mourner.
Squire Trelawney, Doctor Livesey, and the rest of these gentlemen have asked me to write down the whole of it.
I remember him as if it were yesterday, as he came plodding to the inn door.
No one would have believed that this world was being watched keenly and closely by intelligences greater than man's.
Once upon a time there were four little rabbits, and they lived with their mother underneath the root of a tree.
""".strip().splitlines()
"""Opening lines of Dickens, Carroll, Austen, Melville, Doyle, Grahame, Stevenson, Wells, Potter and Alcott."""

TALK = CHAT + NEAR_THE_TRADE + READING

TO_THE_ANIMAL = """
good girl
good boy
there's a good girl
that's a good lad
clever girl
steady
steady now
steady girl
easy
easy now
easy girl
easy does it
stand still
stand
stand up
will you stand still
keep still
hold still
stop it
stop that
pack it in
give over
come on
come on then
come on girl
come on in
come here
come here you
in you go
out you go
off you go
up you get
up you come
over you go
down you go
round you come
get up
get on
get back
get over
get off
get in there
go on
go on then
go on girl
back up
back
whoa
whoa there
ouch
mind my foot
you little beggar
you daft thing
silly girl
what a fat girl
look at you
look at those feet
look at the state of you
let me see
let me have a look
give me your foot
give us your foot
other foot
this one now
nearly done
nearly there
that's better
there you are
there we go
there we are
here we go
all right
all right girl
okay
right then
right
well done
don't kick
no kicking
no biting
leave my hat alone
mind your head
mind the gate
shut the gate
are you done
who's next
who have we here
let's have you
you're next
not you
wait your turn
thank you
bless you
oh dear
oh no
goodness me
hey
hush now
shush
""".strip().splitlines()
"""What people say to the animal in their hands: short, often, and near to the words of the trade (invented)."""

ASIDES_UNSEEN = """
good girl
good lad
there's a good girl
easy now
easy girl
steady
steady on
whoa
whoa there
come here you
come on then
come on missus
c'mon sweetheart
get over
get back
get up with you
up you get
over you go
down you come
in you get
away you go
go on then
go on get out of it
off with you now
stand still
stand will you
hold still
keep still ye wee devil
quit it
quit your kicking
stop wriggling
stop that
don't you dare
don't you kick me
no you don't
ah ah ah
oi
oi pack it in
ow
ow that was my foot
get off my foot
jesus you're heavy
you great lump
you daft old thing
you wee besom
you little monkey
you old rip
give over
give me that leg
let's have your foot
let's see those teeth
open up for me
head up
mind your head
mind them horns
shush now
hush hush hush
there there
i know i know
i know you don't like it
it's all right pet
you're all right
you're grand
nearly there old girl
that wasn't so bad was it
what's the matter with you
where d'you think you're going
settle down mama
that's my jacket you're eating
back to your mammy
hold her head
hold her a minute would you
have you got her
have you got the gate
get the gate
shut that gate behind you
mind the gate she's coming
pass me the shears
pass us them clippers
hand me that drench gun
where's the marker spray gone
can you grab the bucket
chuck us that rope
give us a hand here
push them up a bit
bring the rest of them up
don't let that one past you
watch out behind you
watch your fingers
keep hold of her
let her go now
turn her round for me
tip her up for me will you
lift her chin up a bit
can you see her tag from there
which one's that you've got
how many are left in there
is that the lot
call the dog off
get that dog out of here
stand in the gap there
tea in a minute
stick the kettle on would you
is it time for dinner yet
are you okay over there
did she get you
sorry i thought you had her
y'all right holding that one
it's going to rain by the looks
put the hurdle across there
oh for heaven's sake
oh for goodness' sake
let me think
let me see now
where did i put them
where's my knife
could have sworn i had it
what was i doing
what am i like
well i never
oh give me strength
right then
right so
okay so
um
er
hmm
ahem
excuse me
oh my back
oof
phew
bloody hell
oh shoot
damn it
och well
ah sure look
dear oh dear
i'm getting too old for this
it's perishing out here
""".strip().splitlines()
"""The like, also to a helper and to oneself (invented): written without sight of the grammar, which is not changed
after it."""
